"""Registers to test on, each back end: SQLite always, PostgreSQL on a real server started here when it is installed."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import time
import uuid
from pathlib import Path

import pytest

from readaid.core.piece import Piece
from readaid.register.book import Register


class NoServerError(Exception):
    """Why no server can be started here, in words."""


def programs():
    """Folder of the server's programs, None where it is not installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if found:
        return found[-1].parent
    program = shutil.which("initdb")
    return Path(program).parent if program else None


@contextlib.contextmanager
def running(folder):
    """Address of an empty server; it refuses to run as root, so another user runs it. Raises NoServerError."""
    place = programs()
    if place is None:
        raise NoServerError("PostgreSQL is not installed")
    prefix = []
    if os.geteuid() == 0:
        if shutil.which("setpriv") is None:
            raise NoServerError("PostgreSQL will not run as root and setpriv is missing")
        prefix = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"]
        memory = Path("/dev/shm")
        roomy = memory.is_dir() and shutil.disk_usage(memory).free > 2_000_000_000
        folder = (memory if roomy else Path("/tmp")) / f"readaid-pg-{uuid.uuid4().hex[:8]}"
        folder.mkdir(mode=0o700)
        os.chown(folder, 65534, 65534)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    data = folder / "data"
    environment = {"PATH": os.environ.get("PATH", "/usr/bin"), "LC_ALL": "C.UTF-8", "HOME": str(folder)}
    subprocess.run([*prefix, place / "initdb", "-D", data, "-U", "readaid", "-E", "UTF8", "-A", "trust"], check=True,
                   capture_output=True, cwd=folder, env=environment)
    log = (folder / "log").open("wb")
    server = subprocess.Popen([*prefix, place / "postgres", "-D", data, "-p", str(port), "-k", str(folder),
                               "-c", "listen_addresses=127.0.0.1", "-c", "fsync=off"],
                              stdout=log, stderr=log, cwd=folder, env=environment)
    try:
        for _ in range(150):
            ready = subprocess.run([place / "pg_isready", "-h", "127.0.0.1", "-p", str(port)], capture_output=True)
            if ready.returncode == 0:
                break
            if server.poll() is not None:
                raise RuntimeError((folder / "log").read_text())
            time.sleep(0.1)
        yield f"postgresql://readaid@127.0.0.1:{port}/postgres"
    finally:
        server.send_signal(signal.SIGINT)  # fast shutdown: does not wait for clients
        server.wait(30)
        log.close()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres(tmp_path_factory):
    """Address of an empty PostgreSQL server of our own."""
    try:
        with running(tmp_path_factory.mktemp("postgres")) as address:
            yield address
    except NoServerError as error:
        pytest.skip(str(error))


@pytest.fixture(scope="session")
def postgres_control(postgres):
    import psycopg

    with psycopg.connect(postgres, autocommit=True) as connection:
        yield connection


@contextlib.contextmanager
def _fresh_database(request):
    control, address = request.getfixturevalue("postgres_control"), request.getfixturevalue("postgres")
    name = f"r{uuid.uuid4().hex[:12]}"
    control.execute(f"CREATE DATABASE {name}")
    yield address.rsplit("/", 1)[0] + "/" + name
    control.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def empty_server(request):
    """Address of a fresh database on the server."""
    with _fresh_database(request) as fresh:
        yield fresh


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request, tmp_path):
    """Where a fresh register may be made: a path, then a server address."""
    if request.param == "sqlite":
        yield str(tmp_path / "register.sqlite")
    else:
        with _fresh_database(request) as fresh:
            yield fresh


@pytest.fixture
def register(address):
    with Register.open(address) as opened:
        opened.save(Piece("incense box", id="p1"), reader="Aki")
        yield opened
