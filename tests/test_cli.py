"""The command line: help with an example, JSON with the face's field names, errors in one sentence, exit code 2."""

import dataclasses
import hashlib
import json
import os
import subprocess
import sys

import click
import pytest
from click.testing import CliRunner
from PIL import Image

from readaid.cli import Commands, main
from readaid.core.dating import Dating
from readaid.core.reading import Reading, Verse
from readaid.reading.line_reading import Line
from readaid.script.signature_reading import SignatureReading


def run(*args: str):
    return CliRunner().invoke(main, list(args))


@pytest.mark.parametrize("name", sorted(main.commands))
def test_help_has_an_example_of_itself(name):
    out = run(name, "--help")
    assert out.exit_code == 0
    assert "Example:" in out.output
    assert f"readaid {name}" in out.output


def test_examples_in_help_are_valid_calls():
    """Every example parses: its command exists and its options are known (nothing is run)."""
    import re
    import shlex

    for name, command in main.commands.items():
        text = run(name, "--help").output
        for line in re.findall(rf"^\s+readaid ({name}.*)$", text, re.MULTILINE):
            command.make_context(name, shlex.split(line)[1:], resilient_parsing=True)


def test_read_json_has_the_fields_of_a_reading():
    out = run("read", "すゝはらひ", "--form", "prose", "--json", "-k", "2")
    rows = [json.loads(line) for line in out.output.splitlines()]
    assert set(rows[0]) == {f.name for f in dataclasses.fields(Reading)}
    assert rows[0]["kana"] == "すすはらひ"
    assert '"すすはらひ"' in out.output, "UTF-8, as the conventions say, not escapes"


def test_verse_and_date_json():
    verse = json.loads(run("verse", "ふるいけや かはづとびこむ みづのおと", "--json").output)
    assert set(verse) == {f.name for f in dataclasses.fields(Verse)}
    assert verse["morae"] == [5, 7, 5]
    dating = json.loads(run("date", "嘉永紀元小春吉旦", "--json").output)
    assert set(dating) == {f.name for f in dataclasses.fields(Dating)}
    assert (dating["first"], dating["last"]) == ("1848-10-27", "1848-11-25")


def test_line_and_signature_json():
    line = json.loads(run("line", "於江都蘆香鐫之", "--json").output)
    assert set(line) == {f.name for f in dataclasses.fields(Line)}
    assert line["kind"] == "signature"
    assert [p["name"] for p in line["signatures"][0]["persons"]] == ["蘆香"]
    ways = [json.loads(row) for row in run("signature", "江戸住 蘆香作", "--json", "-k", "2").output.splitlines()]
    assert len(ways) == 2
    assert set(ways[0]) == {f.name for f in dataclasses.fields(SignatureReading)}
    shown = run("line", "月落烏啼霜滿天").output
    assert shown.startswith("Chinese line (chinese-7)")
    assert "claim, not a proof" in run("signature", "蘆香作").output


def test_a_period_folds_dates_away_and_all_brings_them_back():
    few, many = run("date", "庚辰", "--period", "1700-1868").output, run("date", "庚辰", "--all").output
    assert [row[:4] for row in few.splitlines() if " to " in row] == ["1700", "1760", "1820"]
    assert "more outside the working period" in few
    assert len(many.splitlines()) > 20


def test_only_one_s_own_collections_are_searched_where_that_is_asked(tmp_path):
    refused = run("find-verse", "はつしぐれ", "--only")
    assert refused.exit_code == 2
    assert "name one with --collection" in refused.output
    (tmp_path / "mine.txt").write_text("はつしぐれ さるもこみのを ほしげなり\n", encoding="utf-8")
    own = json.loads(run("find-verse", "はつしくれさるもこみのをほしけなり", "--only", "--collection",
                         str(tmp_path / "mine.txt"), "--json").output)
    assert (own["among"], own["verdict"]) == (1, "the same")


def test_compare_says_what_a_likeness_is_no_proof_of(tmp_path):
    page = Image.new("L", (80, 60), 240)
    page.paste(30, (10, 20, 70, 24))
    page.paste(30, (40, 10, 44, 50))
    page.save(tmp_path / "a.png")
    told = run("compare", str(tmp_path / "a.png"), str(tmp_path / "a.png"), "--picture", str(tmp_path / "laid.png"))
    assert told.output.startswith("likeness ")
    assert told.output.endswith("A likeness is evidence of form, not of authorship.\n")
    assert Image.open(tmp_path / "laid.png").width > 80


@pytest.mark.parametrize("args", [
    ["open", "nowhere"], ["report", "nowhere"], ["suggest", "nothing.png"], ["compare", "a.png", "b.png"],
    ["read", "hello"], ["read", "🙂"], ["read", "かな", "--form", "tonka"], ["report", "."],
])
def test_errors_are_one_sentence_with_code_2(args, tmp_path):
    out = subprocess.run([sys.executable, "-m", "readaid", *args], cwd=tmp_path, capture_output=True, text=True,
                         env={**os.environ, "PYTHONPATH": os.getcwd()})
    assert out.returncode == 2
    assert out.stderr.startswith("readaid: ")
    assert "Traceback" not in out.stderr
    assert len(out.stderr.strip().splitlines()) == 1


def test_a_full_disk_is_told_on_the_error_channel():
    @click.group(cls=Commands)
    def tool():
        pass

    @tool.command()
    def save():
        raise OSError(28, "No space left on device", "piece.html")

    told = CliRunner().invoke(tool, ["save"])
    assert told.exit_code == 2
    assert told.stdout == ""
    assert told.stderr == "readaid: No space left on device (piece.html): check the disk and the folder's rights.\n"


def test_a_reading_names_its_form():
    assert "hokku" in run("read", "ふるいけやかはすとひこむみつのおと").stdout.splitlines()[0]


def test_debug_shows_the_traceback(tmp_path):
    out = subprocess.run([sys.executable, "-m", "readaid", "--debug", "report", str(tmp_path / "x")],
                         capture_output=True, text=True)
    assert "Traceback" in out.stderr


@pytest.fixture
def shelf(tmp_path):
    """A piece by one maker with sixty notes."""
    import readaid
    from readaid.core.person import Person, Role
    from readaid.core.piece import Note

    with readaid.new(tmp_path / "shelf", reader="Mori", title="Lid") as piece:
        maker = Person("霜野鷺汀")
        piece.save(maker, Role(maker.id, "carver"), *(Note(piece.piece.id, f"soot {n}") for n in range(60)))
        return piece.folder


def test_search_says_what_it_leaves_out_and_json_leaves_out_nothing(shelf):
    shown = run("search", str(shelf), "soot").output.splitlines()
    assert len(shown) == 51
    assert shown[-1] == "60 found, 50 shown; --limit 60 shows all"
    assert len(run("search", str(shelf), "soot", "--json").output.splitlines()) == 60
    few = run("search", str(shelf), "soot", "--json", "--limit", "7")
    assert len(few.stdout.splitlines()) == 7
    assert "60 found, 7 shown" in few.stderr


def test_search_for_a_maker_alone_lists_the_pieces(shelf):
    rows = [json.loads(line) for line in run("search", str(shelf), "--maker", "鷺汀", "--json").output.splitlines()]
    assert [(r["kind"], r["title"]) for r in rows] == [("piece", "Lid")]
    assert len(run("search", str(shelf), "soot", "--maker", "鷺汀", "--json").output.splitlines()) == 60
    assert run("search", str(shelf), "--maker", "nobody").output == "0 found\n"


@pytest.mark.skipif(os.name != "posix", reason="needs a shell with pipes")
def test_a_reader_who_has_read_enough_is_no_fault_of_the_disk(shelf):
    out = subprocess.run(["bash", "-c", f'"{sys.executable}" -m readaid search "{shelf}" soot --json | head -1'],
                         capture_output=True, text=True)
    assert json.loads(out.stdout)["kind"] == "note"
    assert out.stderr == ""


def test_help_and_error_name_every_format(shelf):
    from readaid.piece.open_piece import TABLES
    from readaid.report import FORMATS

    told = " ".join(run("report", "--help").output.split())
    assert "html, pdf, docx, catalogue, markdown, tei, annotations, iiif, csv, xlsx, parquet" in told
    out = run("report", str(shelf), "--format", "hmtl")
    assert out.exit_code == 2
    for name in (*FORMATS, *TABLES):
        assert name in told
        assert name in out.stderr


def test_a_verse_form_may_be_given_by_its_lengths():
    named, counted = (json.loads(run("verse", "ふるいけやかはづとびこむみづのおと", "--form", form, "--json").output)
                      for form in ("hokku", "5-7-5"))
    assert named == counted
    assert json.loads(run("verse", "はるのうみひねもすのたり", "--form", "5-7", "--json").output)["morae"] == [5, 7]
    assert "no verse form" in run("verse", "はる", "--form", "5-0-5").stderr
    read = json.loads(run("read", "はるのうみひねもすのたり", "--form", "5-7", "--json", "-k", "1").output)
    assert (read["form"], read["morae"]) == ("5-7", [5, 7])


def test_new_and_report(tmp_path):
    from PIL import Image

    Image.new("RGB", (40, 30)).save(tmp_path / "a.jpg")
    out = run("new", str(tmp_path / "p"), "--title", "A lid", "--reader", "Mori", "--photo", str(tmp_path / "a.jpg"))
    assert out.exit_code == 0, out.output
    digest = hashlib.sha256((tmp_path / "a.jpg").read_bytes()).hexdigest()
    assert f"a.jpg: 40 x 30 pixels, SHA-256 {digest[:16]}…" in out.output
    out = run("report", str(tmp_path / "p"), "--format", "html", "--format", "csv")
    assert out.exit_code == 0, out.output
    assert (tmp_path / "p" / "exports" / "report.html").is_file()
    assert run("new", str(tmp_path / "p")).exit_code == 2
