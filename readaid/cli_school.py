"""Commands for a school: makers, specimens and studies that outlive one object.

Conventions: as in ``cli``; every command that answers has ``--json``. A place is a folder, or a ``postgresql://``
address with ``--pictures FOLDER``.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from readaid.cli_answers import SETTINGS, as_json, example

_PLACE = click.argument("place")
_PICTURES = click.option("--pictures", type=click.Path(path_type=Path), default=None,
                         help="Folder of pictures, for a school on a server.")


def _opened(place: str, pictures: Path | None, title: str | None = None, reader: str | None = None) -> Any:
    from readaid.schools.album import School

    return School(place, title=title, reader=reader, pictures=pictures)


def _told(frame: Any, json_out: bool) -> None:
    """A frame as one JSON list with an object a row, or as a table."""
    table = frame.reset_index()
    if json_out:
        click.echo(table.to_json(orient="records", force_ascii=False))
    else:
        click.echo(table.to_string(index=False) if len(table) else "Nothing is there yet.")


@click.group(context_settings=SETTINGS, epilog=example(
    "readaid school new hanabishi --title 'The Hanabishi school' --makers makers.csv\n"
    "readaid school add hanabishi --folder scans --table scans.csv\nreadaid school nearest hanabishi crop.png"))
def school() -> None:
    """Makers, specimens and studies of a school, kept beside the pieces."""


@school.command(epilog=example("readaid school new hanabishi --title 'The Hanabishi school'"))
@_PLACE
@click.option("--title", required=True, help="Name of the school.")
@click.option("--makers", type=click.Path(path_type=Path), default=None, help="CSV table of makers: name,teacher,...")
@click.option("--reader", default=None, help="Your name, written beside every entry.")
@_PICTURES
@as_json
def new(place: str, title: str, makers: Path | None, reader: str | None, pictures: Path | None, json_out: bool) -> None:
    """Begin a school at PLACE: a folder, or a postgresql:// address with --pictures FOLDER."""
    with _opened(place, pictures, title, reader) as opened:
        if makers is not None:
            opened.add_makers(makers)
        if json_out:
            click.echo(json.dumps({"title": opened.record.title, "folder": str(opened.folder),
                                   "makers": len(opened.people)}, ensure_ascii=False))
        else:
            click.echo(repr(opened)[1:-1])


@school.command(epilog=example("readaid school add hanabishi --piece water-dropper\n"
                                "readaid school add hanabishi --folder scans --table scans.csv"))
@_PLACE
@click.option("--makers", type=click.Path(path_type=Path), default=None, help="CSV table of makers.")
@click.option("--folder", type=click.Path(path_type=Path), default=None, help="Folder of pictures, one form each.")
@click.option("--table", type=click.Path(path_type=Path), default=None, help="CSV table of the folder: file,maker,...")
@click.option("--piece", "pieces", multiple=True, help="Piece folder whose specimens are taken over.")
@click.option("--reader", default=None, help="Your name, written beside every entry.")
@_PICTURES
@as_json
def add(place: str, makers: Path | None, folder: Path | None, table: Path | None, pieces: tuple[str, ...],
        reader: str | None, pictures: Path | None, json_out: bool) -> None:
    """Take makers, pictures or the specimens of a piece into the school at PLACE."""
    import readaid

    with _opened(place, pictures, reader=reader) as opened:
        if makers is not None:
            opened.add_makers(makers)
        if folder is not None:
            opened.add_folder(folder, table)
        for one in pieces:
            with readaid.open(one, read_only=True) as piece:
                opened.add_piece(piece)
        _told(opened.specimens, json_out)


@school.command(epilog=example("readaid school compare hanabishi --keep"))
@_PLACE
@click.argument("specimens", nargs=-1)
@click.option("--title", default="", help="Title of the study.")
@click.option("--keep", is_flag=True, help="Keep the study in the school.")
@_PICTURES
@as_json
def compare(place: str, specimens: tuple[str, ...], title: str, keep: bool, pictures: Path | None,
            json_out: bool) -> None:
    """Compare SPECIMENS (ids; all of them if none are named) with each other."""
    with _opened(place, pictures) as opened:
        study = opened.study(specimens or None, title)
        if keep:
            click.echo(f"Kept as {opened.keep(study).id}", err=True)
        _told(study.to_frame().set_index("a"), json_out)


@school.command(epilog=example("readaid school nearest hanabishi crop.png"))
@_PLACE
@click.argument("image", type=click.Path(path_type=Path))
@click.option("-k", default=5, show_default=True, type=click.IntRange(1, 100), help="How many makers at most.")
@_PICTURES
@as_json
def nearest(place: str, image: Path, k: int, pictures: Path | None, json_out: bool) -> None:
    """The makers whose forms stand nearest to IMAGE, with "none of these" allowed."""
    import dataclasses

    with _opened(place, pictures) as opened:
        found = opened.study().nearest(image, k)
        if json_out:
            click.echo(json.dumps(dataclasses.asdict(found), ensure_ascii=False))
            return
        for n in found.neighbours:
            click.echo(f"{n.rank:3} {n.maker}  likeness {n.likeness:.2f}  ({n.forms} forms; nearest: {n.nearest})")
        click.echo(found.text)


@school.command(epilog=example("readaid school tree hanabishi"))
@_PLACE
@_PICTURES
@as_json
def tree(place: str, pictures: Path | None, json_out: bool) -> None:
    """Makers from teacher to pupil."""
    from readaid.schools.tree import tree_of

    with _opened(place, pictures) as opened:
        if json_out:
            _told(opened.makers, True)
            return
        for place_of in tree_of(opened.people).walk():
            click.echo("  " * place_of.y + place_of.maker.name)


@school.command(epilog=example("readaid school report hanabishi --study 'Six hands'\n"
                                "readaid school report hanabishi --figures prints --as pdf --as png"))
@_PLACE
@click.option("--study", "named", default=None, help="Id or title of a kept study; left out: all, compared now.")
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Where to write; by default study.html.")
@click.option("--figures", type=click.Path(path_type=Path), default=None, help="Folder for the figures, to print.")
@click.option("--as", "endings", multiple=True, type=click.Choice(["svg", "pdf", "png"]), default=("pdf",),
              show_default=True, help="How figures are written (PNG at 300 dpi); may be given more than once.")
@click.option("--private", is_flag=True, help="With owners and where pieces are kept.")
@_PICTURES
@as_json
def report(place: str, named: str | None, out: Path | None, figures: Path | None, endings: tuple[str, ...],
           private: bool, pictures: Path | None, json_out: bool) -> None:
    """Write a study as one HTML page, and its figures if asked; what cannot be drawn says why."""
    from readaid.schools.figures import written
    from readaid.schools.study_page import write

    with _opened(place, pictures) as opened:
        study = opened.study([named] if named else None).under(opened.veil(private))
        page = write(study, out or opened.folder / "exports" / "study.html")
        drawn, lacking = written(study, figures, endings) if figures is not None else ([], {})
        if json_out:
            click.echo(json.dumps({"page": str(page), "figures": [str(p) for p in drawn], "lacking": lacking,
                                   "sentences": study.sentences()}, ensure_ascii=False))
            return
        for path in (page, *drawn):
            click.echo(str(path))
        for kind, why in lacking.items():
            click.echo(f"readaid: no figure {kind}: {why}", err=True)


COMMANDS: tuple[click.Command, ...] = (school,)
