"""Checking a BagIt bag (RFC 8493), of ours or of anybody: complete, valid, and safe to restore.

Conventions: problems are sentences, all of them told at once. A zip is unpacked beside itself for the check.
Nothing is fetched from elsewhere: a bag with ``fetch.txt`` is whole only if its files are here.
"""

from __future__ import annotations

import contextlib
import hashlib
import re
import stat
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from readaid.core.errors import ArchiveError
from readaid.register import safezip

#: Algorithms a manifest may use; ours uses the first. Older bags carry md5 or sha1.
ALGORITHMS = ("sha256", "sha512", "sha384", "sha224", "sha1", "md5")
_DECLARATION = re.compile(rb"BagIt-Version: (\d+)\.(\d+)\r?\nTag-File-Character-Encoding: ([\w-]+)\r?\n?")


@dataclass(frozen=True, slots=True)
class BagCheck:
    """What a check of a bag found; an empty ``problems`` means complete and valid."""

    path: Path
    problems: tuple[str, ...]
    files: int
    size: int  # bytes of the payload
    info: tuple[tuple[str, str], ...] = ()

    @property
    def valid(self) -> bool:
        """Whether every file is here and as it was."""
        return not self.problems


def check(bag: str | Path) -> BagCheck:
    """Read a bag whole and say what is wrong with it; a folder or a zip.

    Raises
    ------
    ArchiveError: if it is no bag, or a zip that is not safe to open.
    """
    with opened(Path(bag)) as base:
        return examine(base, Path(bag))


@contextlib.contextmanager
def opened(bag: Path) -> Iterator[Path]:
    """The bag as a folder; a zip is unpacked beside it first."""
    if bag.is_dir():
        yield bag
        return
    with safezip.open_checked(bag) as archive:
        names = [e.filename for e in archive.infolist() if not e.is_dir()]
        tops = {n.split("/")[0] for n in names}
        # A bag is one folder (RFC 8493, 2): files beside it belong to nobody and would be lost unsaid.
        if len(tops) != 1 or not all("/" in n for n in names):
            raise ArchiveError("The zip does not hold one bag folder", str(bag), "choose the zip of a bag")
        with tempfile.TemporaryDirectory(prefix=".readaid-", dir=bag.resolve().parent) as place:
            for name in names:
                target = Path(place) / name
                target.parent.mkdir(parents=True, exist_ok=True)
                with target.open("xb") as file:
                    for block in safezip.blocks(archive, name):
                        file.write(block)
            yield Path(place) / tops.pop()


def examine(base: Path, shown: Path) -> BagCheck:
    """Check a bag that lies as a folder at ``base``; ``shown`` is what the user gave."""
    try:
        declared = (base / "bagit.txt").read_bytes()
    except OSError as error:
        raise ArchiveError("This is no bag: it has no bagit.txt", str(shown), "choose the folder or zip of a bag"
                           ) from error
    problems: list[str] = []
    match = _DECLARATION.fullmatch(declared)
    if match is None:
        problems.append("bagit.txt is not well formed")
    elif match[3].upper() != b"UTF-8":
        problems.append(f"the tag files are in {match[3].decode()}, only UTF-8 is read")
    present = _present(base, problems)
    payload = {n for n in present if n.startswith("data/")}
    if not (base / "data").is_dir():
        problems.append("data/ is missing")
    manifests = sorted(n for n in present if re.fullmatch(r"manifest-\w+\.txt", n))
    if not manifests:
        problems.append("there is no manifest")
    for name in manifests:
        listed = _manifest(base, name, present, problems)
        # A file that no manifest names has no checksum: it may have been put in afterwards.
        problems += [f"{n}: in data/ but not in {name}" for n in sorted(payload - set(listed))]
        _verify(base, name, listed, present, problems)
    for name in sorted(n for n in present if re.fullmatch(r"tagmanifest-\w+\.txt", n)):
        _verify(base, name, _manifest(base, name, present, problems), present, problems)
    info = _info(base, problems) if "bag-info.txt" in present else ()
    size = sum((base / n).stat().st_size for n in payload)
    # Size and number tell at once of a copy that broke off, before anybody reads a hundred checksums.
    oxum = dict(info).get("Payload-Oxum")
    if oxum is not None and oxum != f"{size}.{len(payload)}":
        problems.append(f"data/ holds {size} bytes in {len(payload)} files, but bag-info.txt says {oxum}")
    return BagCheck(shown, tuple(problems), len(payload), size, info)


def _present(base: Path, problems: list[str]) -> set[str]:
    found = set()
    for path in base.rglob("*"):
        name = path.relative_to(base).as_posix()
        mode = path.lstat().st_mode
        # Asked without following: a link that leads to a file outside would be checked as if it lay here.
        if stat.S_ISLNK(mode) or not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
            problems.append(f"{name}: a link or a device does not belong into a bag")
        elif stat.S_ISREG(mode):
            found.add(name)
    return found


def _manifest(base: Path, name: str, present: set[str], problems: list[str]) -> dict[str, str]:
    """Path -> checksum; paths that lead outside the bag are told and left out (RFC 8493, 5.2)."""
    found: dict[str, str] = {}
    try:
        text = (base / name).read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        problems.append(f"{name} is not UTF-8")
        return found
    for at, line in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), 1):
        if not line:
            continue
        # The star is md5sum's mark for a binary file.
        match = re.fullmatch(r"([0-9a-fA-F]+)[ \t]+\*?(.+)", line)
        path = _unescaped(match[2]).removeprefix("./") if match else ""
        if match and path not in present and match[2] in present:
            path = match[2]  # bags of version 0.97 wrote the percent sign as it is
        parts = path.split("/")
        outside = path.startswith(("/", "~")) or "\\" in path or ".." in parts or re.match(r"[A-Za-z]:", path)
        if match is None:
            problems.append(f"{name}, line {at}: not a checksum and a path")
        elif outside or (name.startswith("manifest-") and parts[0] != "data"):
            problems.append(f"{name}, line {at}: the path leads outside the bag's data")
        elif path in found:
            problems.append(f"{name}, line {at}: {path} stands there twice")
        else:
            found[path] = match[1].lower()
    return found


def _verify(base: Path, name: str, listed: dict[str, str], present: set[str], problems: list[str]) -> None:
    algorithm = name.rpartition("manifest-")[2].removesuffix(".txt").lower()
    if algorithm not in ALGORITHMS:
        problems.append(f"{name}: the checksum {algorithm} is not known")
        return
    for path, checksum in listed.items():
        if path not in present:
            problems.append(f"{path}: missing")
            continue
        digest = hashlib.new(algorithm)
        with (base / path).open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
        if digest.hexdigest() != checksum:
            problems.append(f"{path}: not as it was ({algorithm})")


def _info(base: Path, problems: list[str]) -> tuple[tuple[str, str], ...]:
    found: list[tuple[str, str]] = []
    for line in (base / "bag-info.txt").read_bytes().decode("utf-8-sig", "replace").splitlines():
        if line[:1] in " \t" and found:  # a long line goes on, indented
            found[-1] = (found[-1][0], f"{found[-1][1]} {line.strip()}")
        elif ":" in line:
            label, _, value = line.partition(":")
            found.append((label.strip(), value.strip()))
        elif line.strip():
            problems.append("bag-info.txt is not well formed")
    return tuple(found)


def _unescaped(name: str) -> str:
    return re.sub("%0A|%0D|%25", lambda m: {"%0A": "\n", "%0D": "\r", "%25": "%"}[m.group().upper()], name,
                  flags=re.IGNORECASE)
