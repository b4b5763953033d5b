"""Commands for what goes out of a piece folder and comes back: copy, merge, worksheet, archive, restore, check, search.

Conventions: as in ``readaid.cli``, which adds these to its group.
"""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import Any

import click

from readaid.cli_answers import as_json, example
from readaid.core.errors import OptionError

FOLDER = click.argument("folder", type=click.Path(path_type=Path))
#: More than any register holds.
ALL = 2**31


@click.command(epilog=example("readaid copy water-dropper --blind --to for-tanaka.zip"))
@FOLDER
@click.option("--to", type=click.Path(path_type=Path), default=None, help="File to write; left out: into exports/.")
@click.option("--blind", is_flag=True, help="Hide guesses, fillers and known verses from the second reader.")
@click.option("--without-photos", is_flag=True, help="Leave the photos out.")
def copy(folder: Path, to: Path | None, blind: bool, without_photos: bool) -> None:
    """Write a reader's copy of the piece: one file for a colleague."""
    import readaid

    with readaid.open(folder) as piece:
        click.echo(str(piece.custody.copy(to, blind=blind, photos=not without_photos)))
        for trouble in [] if without_photos else piece.check_photos():
            click.echo(f"readaid: left out of the copy: {trouble}", err=True)


@click.command(epilog=example("readaid receive for-tanaka.zip work-copy"))
@click.argument("copy_file", type=click.Path(path_type=Path))
@FOLDER
def receive(copy_file: Path, folder: Path) -> None:
    """Unpack a reader's COPY_FILE into a new piece FOLDER, to work on it there."""
    from readaid.copies.reader_copy import receive as unpack

    click.echo(f'{unpack(copy_file, folder)}  Go on with: readaid open "{folder}"')


@click.command(epilog=example("readaid merge water-dropper from-tanaka.zip --reader Mori"))
@FOLDER
@click.argument("copy_file", type=click.Path(path_type=Path))
@click.option("--reader", default=None, help="Your name, written beside what is merged.")
@as_json
def merge(folder: Path, copy_file: Path, reader: str | None, json_out: bool) -> None:
    """Take a colleague's COPY_FILE back into the piece; conflicts are listed, nothing is lost."""
    import readaid

    with readaid.open(folder, reader=reader) as piece:
        merged = piece.custody.merge(copy_file)
        if json_out:
            told = dataclasses.asdict(merged) | {"words": [c.words for c in merged.conflicts]}
            click.echo(json.dumps(told, ensure_ascii=False, default=str))
            return
        click.echo(f"{merged.added} revisions taken in, {merged.new_records} records new, "
                   f"{len(merged.conflicts)} conflicts")
        for c in merged.conflicts:
            click.echo(f"  {c.words}")
        for notice in merged.notices:
            click.echo(f"  {notice}")


@click.command(epilog=example("readaid worksheet water-dropper --language ja"))
@FOLDER
@click.option("--to", type=click.Path(path_type=Path), default=None, help="File to write; left out: into exports/.")
@click.option("--language", type=click.Choice(["en", "ja"]), default="en", show_default=True)
def worksheet(folder: Path, to: Path | None, language: str) -> None:
    """Write a sheet to print for a reader without a computer."""
    import readaid

    with readaid.open(folder, read_only=True) as piece:
        click.echo(str(piece.custody.worksheet(to, language)))


@click.command(epilog=example("readaid archive water-dropper water-dropper-bag.zip"))
@FOLDER
@click.argument("target", type=click.Path(path_type=Path))
@click.option("--veiled", is_flag=True, help="For others: without owner, place, origin, and the photos' positions.")
def archive(folder: Path, target: Path, veiled: bool) -> None:
    """Make a BagIt bag (RFC 8493) of the piece: TARGET is a new folder, or a file ending in .zip."""
    import readaid

    with readaid.open(folder) as piece:
        click.echo(str(piece.custody.archive(target, veiled)))


@click.command(epilog=example("readaid restore water-dropper-bag.zip water-dropper"))
@click.argument("bag", type=click.Path(path_type=Path))
@FOLDER
def restore(bag: Path, folder: Path) -> None:
    """Check a BAG and put its piece back into a new FOLDER."""
    from readaid.register.bag import restore as put_back

    click.echo(str(put_back(bag, folder, say=lambda left: click.echo(left, err=True))))


@click.command(epilog=example("readaid check water-dropper"))
@click.argument("what", type=click.Path(path_type=Path))
@as_json
def check(what: Path, json_out: bool) -> None:
    """Check a piece folder or a bag: WHAT is read whole and compared with its checksums. Exit code 1 if not sound."""
    import readaid

    if (what / "bagit.txt").is_file() or what.suffix == ".zip":
        from readaid.register.bagcheck import check as check_bag

        troubles = check_bag(what).problems
    else:
        with readaid.open(what, read_only=True) as piece:
            troubles = piece.custody.check().troubles
    if json_out:
        click.echo(json.dumps({"sound": not troubles, "troubles": list(troubles)}, ensure_ascii=False))
    else:
        click.echo("\n".join(troubles) if troubles else "Everything is as it was.")
    if troubles:
        raise click.exceptions.Exit(1)


@click.command(epilog=example("readaid recover water-dropper"))
@FOLDER
def recover(folder: Path) -> None:
    """Bring a damaged register back from its backups, and say what is missing; a sound one is left alone."""
    import readaid
    from readaid.core.errors import NewerRegisterError, ReadaidError
    from readaid.register.recovery import recover as bring_back

    try:
        with readaid.open(folder, read_only=True) as piece:
            if not piece.custody.check(quick=True).register.problems:
                click.echo("The register is sound; nothing was done.")
                return
    except NewerRegisterError:
        raise
    except ReadaidError as error:
        click.echo(str(error))
    click.echo(str(bring_back(folder)))


@click.command(epilog=example("readaid search water-dropper --sound は --status preferred\n"
                               "readaid search pieces --maker 蘆香 --dated 1800 1850\n"
                               "readaid search hanabishi --place 江戸 --json"))
@click.argument("folder")
@click.argument("text", default="")
@click.option("--character", "--sign", default="", help="A sign as written.")
@click.option("--sound", default="", help="A kana: any letter of that sound. One piece only.")
@click.option("--parent", default="", help="A kanji: any letter that comes from it. One piece only.")
@click.option("--maker", default="", help="Name, reading or alias of a maker; alone, it lists the maker's pieces.")
@click.option("--place", default="", help="Where a signature says, or a maker is known, to have worked.")
@click.option("--dated", nargs=2, default=None, metavar="FIRST LAST", help="First and last year or day.")
@click.option("--reader", default="", help="Who entered it.")
@click.option("--status", multiple=True, help="Status of attempts; may be given more than once. One piece only.")
@click.option("--disputed", is_flag=True, help="Characters still disputed. One piece only.")
@click.option("--limit", type=click.IntRange(1), default=None, help="How many to show. [50; with --json all]")
@as_json
def search(folder: str, limit: int | None, json_out: bool, **asked: Any) -> None:
    """Search FOLDER for TEXT, a sign, a maker, a place, a time: a piece, a school, or a folder that holds some.

    A postgresql:// address is searched as well. What stands in several pieces is told piece by piece.
    """
    from readaid.piece.folder import is_piece
    from readaid.register.engine import is_url

    many = limit or (ALL if json_out else 50)
    alone = {name for name in ("sound", "parent", "status", "disputed") if asked[name]}
    if not is_url(folder) and is_piece(Path(folder)) and not _is_school(Path(folder)):
        _search_piece(Path(folder), many, json_out, asked)
        return
    if alone:
        raise OptionError(f"--{min(alone)} asks within one piece", folder, "name one piece folder")
    from readaid.piece.collection import search as search_all

    found = search_all(folder, asked["text"], sign=asked["character"], maker=asked["maker"], place=asked["place"],
                       dated=asked["dated"], reader=asked["reader"], limit=many)
    for find in found.finds:
        click.echo(json.dumps(dataclasses.asdict(find), ensure_ascii=False, default=str) if json_out else
                   f"{find.made[:10]}  {find.title:20} {find.kind:12} {find.reader:12} {find.text}".rstrip())
    for trouble in found.troubles:
        click.echo(f"readaid: {trouble}", err=True)
    click.echo(f"{found.total} found in {found.places} registers, {len(found.finds)} shown", err=json_out)


def _is_school(folder: Path) -> bool:
    from readaid.piece.folder import REGISTER
    from readaid.register.book import Register

    with Register.open(folder / REGISTER, read_only=True) as register:
        return bool(register.all("school", piece="*"))


def _search_piece(folder: Path, many: int, json_out: bool, asked: dict[str, Any]) -> None:
    """One piece, with what only one piece can be asked."""
    import readaid
    from readaid.register.lookup import disputed as find_disputed
    from readaid.register.lookup import shown

    texts = {n: asked[n] for n in ("character", "sound", "parent", "maker", "place", "dated", "reader")}
    other = any((asked["text"], asked["character"], asked["sound"], asked["parent"], asked["status"], asked["reader"]))
    alone = (asked["maker"] or asked["place"] or asked["dated"]) and not other
    with readaid.open(folder, read_only=True) as piece:
        found: Any = (find_disputed(piece.register, limit=many) if asked["disputed"] else piece.register.search(
            asked["text"], **texts, status=asked["status"] or None, kinds="piece" if alone else None, limit=many))
        for hit in found.hits:
            click.echo(json.dumps(dataclasses.asdict(hit), ensure_ascii=False, default=str) if json_out else
                       f"{hit.made[:10]}  {hit.kind:12} {hit.reader:12} {shown(hit.record)}  {hit.why}".rstrip())
        left = found.total - len(found.hits)
        more = f", {len(found.hits)} shown; --limit {found.total} shows all" if left else ""
        if not json_out or left:
            click.echo(f"{found.total} found{more}", err=json_out)


COMMANDS = (copy, receive, merge, worksheet, archive, restore, check, recover, search)
