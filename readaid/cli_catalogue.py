"""Commands for what is quoted and printed of many pieces: a citation found again, a catalogue volume.

Conventions: as in ``readaid.cli``, which adds these to its group.
"""

from __future__ import annotations

import contextlib
import json
from pathlib import Path

import click

from readaid.cli_answers import as_json, example


@click.command(epilog=example("readaid cited water-dropper 1f0c2a9b-77d03e51-r41"))
@click.argument("folder", type=click.Path(path_type=Path))
@click.argument("citation")
@as_json
def cited(folder: Path, citation: str, json_out: bool) -> None:
    """Show the reading that a CITATION names, as it stood when it was quoted."""
    import readaid
    from readaid.core.attempt import Attempt

    with readaid.open(folder, read_only=True) as piece:
        found = piece.write_up.cited(citation)
    attempt = found.record
    assert isinstance(attempt, Attempt)
    told = {"written": attempt.written, "kana": attempt.kana, "modern": attempt.modern, "reader": attempt.reader,
            "confidence": attempt.confidence, "status": attempt.status.value, "made": found.made,
            "revision": found.number, "withdrawn": found.withdrawn}
    click.echo(json.dumps(told, ensure_ascii=False) if json_out else
               "\n".join(f"{name}: {value}" for name, value in told.items() if value not in ("", False)))


@click.command(epilog=example("readaid volume lid-1 lid-2 --to lids.pdf --title 'Signed lids'"))
@click.argument("folders", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--to", "path", required=True, type=click.Path(path_type=Path), help="File to write; its ending chooses "
              "the format: html, pdf, docx or md.")
@click.option("--title", default="Catalogue", show_default=True)
@click.option("--edition", type=click.Choice(["leiden", "japanese"]), default="leiden", show_default=True)
@click.option("--language", type=click.Choice(["en", "ja"]), default="en", show_default=True)
def volume(folders: tuple[Path, ...], path: Path, title: str, edition: str, language: str) -> None:
    """Write the entries of the pieces in FOLDERS as one volume, with indexes of first lines and makers."""
    import readaid
    from readaid.report.volume import Volume, write

    format = {".md": "markdown"}.get(path.suffix.lower(), path.suffix.lower().lstrip("."))
    with contextlib.ExitStack() as held:
        pieces = [held.enter_context(readaid.open(f, read_only=True)) for f in folders]
        click.echo(str(write(Volume(title, tuple((p.contents, p.folder) for p in pieces)), path, format, edition,
                             language)))


COMMANDS = (cited, volume)
