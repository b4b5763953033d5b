"""The set-up page for a server, followed by the letter on a real PostgreSQL: its roles suffice, none can do more."""

import re
from pathlib import Path

import numpy as np
import pytest

import readaid
from readaid.core.errors import ReadaidError
from readaid.core.person import Person
from readaid.register.book import Register

PAGE = Path(__file__).resolve().parents[2] / "data" / "department.md"


def statements(name):
    found = re.search(rf"<!-- sql: {name} -->\n```sql\n(.+?)\n```", PAGE.read_text(encoding="utf-8"), re.S)
    assert found, f"the page has no SQL called {name}"
    return found[1]


@pytest.fixture
def department(postgres, postgres_control, tmp_path):
    """Addresses of the owner, a writer and a reader of a school that was set up as the page says."""
    import psycopg

    for line in statements("roles").splitlines():
        postgres_control.execute(line)
    postgres_control.execute("CREATE ROLE mori LOGIN IN ROLE readaid_writer")
    postgres_control.execute("CREATE ROLE aki LOGIN IN ROLE readaid_reader")
    place = postgres.split("@")[1].rsplit("/", 1)[0] + "/school"
    owner, writer, reader = (f"postgresql://{who}@{place}" for who in ("readaid_owner", "mori", "aki"))
    readaid.school(owner, title="The school", pictures=tmp_path).close()
    with psycopg.connect(owner, autocommit=True) as connection:
        connection.execute(statements("rights"))
    yield owner, writer, reader
    postgres_control.execute("DROP DATABASE school WITH (FORCE)")
    for role in ("mori", "aki", "readaid_writer", "readaid_reader", "readaid_owner"):
        postgres_control.execute(f"DROP ROLE {role}")


def test_a_writer_works_and_cannot_rewrite(department, tmp_path):
    import psycopg

    _, writer, reader = department
    with readaid.school(writer, reader="Mori", pictures=tmp_path) as school:
        school.add_maker("Tansei")
        school.add_maker("Tansei", died=1820)
        school.add_picture(np.full((40, 40, 3), 200, np.uint8), maker="Tansei")
        assert school.register.undo(reader="Mori")
        school.register.rebuild()
        assert school.register.check().problems == ()
        assert school.makers["died"].tolist() == [1820]
    for statement in ("UPDATE revision SET reader = 'somebody'", "DELETE FROM revision", "TRUNCATE revision",
                      "DROP TABLE revision", "CREATE TABLE mine (a int)"):
        with psycopg.connect(writer) as connection, pytest.raises(psycopg.Error):
            connection.execute(statement)
    with Register.open(reader, read_only=True) as register:
        assert [p.name for p in register.all("person")] == ["Tansei"]
    with psycopg.connect(reader) as connection, pytest.raises(psycopg.errors.InsufficientPrivilege):
        connection.execute("DELETE FROM current")


def test_a_reader_is_told_that_they_may_only_look(department, tmp_path):
    _, _, reader = department
    with Register.open(reader) as register, pytest.raises(ReadaidError):
        register.save(Person("Tansei"), reader="Aki")


def test_not_even_the_owner_changes_a_line(department):
    import psycopg

    owner = department[0]
    with psycopg.connect(owner) as connection, pytest.raises(psycopg.Error, match="never changed or deleted"):
        connection.execute("UPDATE revision SET reader = 'somebody'")

