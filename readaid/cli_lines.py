"""Commands for a line of any kind and for signatures; part of the thin command line.

Conventions: as in ``cli``: every answer also as JSON, one object each, with the field names of the Python results.
"""

from __future__ import annotations

from typing import Any

import click

from readaid.cli_answers import answer, as_json, dating_words, example, reading_words
from readaid.core.line import LINE_KINDS

_KIND_HELP = f"Read it as this kind: {', '.join(LINE_KINDS)}. [the likeliest]"
_period = click.option("--period", metavar="FROM-TO", default=None, help="Working period in Western years. [1600-1912]")


@click.command(epilog=example("readaid line '月落烏啼霜滿天'\nreadaid line '於江都蘆香鐫之' --json\n"
                               "readaid line '登[二]高山[一]'"))
@click.argument("text")
@click.option("--kind", type=click.Choice(LINE_KINDS), default=None, metavar="KIND", help=_KIND_HELP)
@click.option("-k", default=3, show_default=True, type=click.IntRange(1, 200), help="How many readings at most.")
@_period
@as_json
def line(text: str, kind: str | None, k: int, period: str | None, json_out: bool) -> None:
    """Say what TEXT is (verse, signature, date, title ...) and read it as that; line breaks mean columns."""
    import readaid
    from readaid.script import return_marks
    from readaid.script.period import written

    text = text.replace("\\n", "\n")
    marked = return_marks.split(text) if return_marks.bears(text) else None
    found = readaid.line(marked[0] if marked else text, kind=kind or ("Chinese line" if marked else None), k=k,
                         period=written(period) if period else None)
    answer([found], json_out, line_words)
    if marked and not json_out:
        click.echo(f"in Japanese order, by the marks: {return_marks.japanese(*marked)}")


@click.command(epilog=example("readaid signature '武州住 蘆香作 花押'\nreadaid signature '應需霞汀刻' --json"))
@click.argument("text")
@click.option("-k", default=3, show_default=True, type=click.IntRange(1, 50), help="How many ways at most.")
@_period
@as_json
def signature(text: str, k: int, period: str | None, json_out: bool) -> None:
    """Take a signature apart; a space or line break is the end of a column, `?` an unread sign."""
    import readaid
    from readaid.script.period import written

    found = readaid.signature(text.replace("\\n", "\n"), k=k, period=written(period) if period else None)
    answer(found, json_out, signature_words)
    if not json_out:
        click.echo("A name on a piece is a claim, not a proof: signatures were added later, written by pupils, forged.")


def line_words(found: Any) -> str:
    shares = "  ".join(f"{m.kind} {m.probability:.0%}" for m in found.kinds if m.probability >= 0.01)
    why = next((m.why for m in found.kinds if m.kind == found.kind), "")
    rows = [f"{found.kind}{f' ({found.form})' if found.form else ''}   [{shares}]", *([f"  {why}"] if why else [])]
    rows += [reading_words(r) for r in found.readings]
    rows += [signature_words(s) for s in found.signatures]
    rows += [dating_words(d) for d in found.datings if not d.folded]
    rows += [" ".join(found.sounds)] if found.sounds and not found.chinese else []
    rows += chinese_words(found.chinese) if found.chinese else []
    return "\n".join([*rows, *([found.note] if found.note else [])])


def chinese_words(verse: Any) -> list[str]:
    """A Chinese line: its name, the signs with on, kun and tone, pattern and rhyme, a known line beside it."""
    rows = [f"  {sign}  {on or '-'}  {kun or '-'}  {tone}" for sign, on, kun, tone in verse.table()]
    rows += [f"{verse.name or 'lines of no usual length'}: {'  '.join(verse.patterns)}   (○ level, ● oblique)"]
    rows += [verse.rhyme, *([f"Beside it, a known line: {verse.known.words}"] if verse.known else [])]
    return rows


def signature_words(way: Any) -> str:
    rows = [f"{way.probability:6.1%}  " + "  ".join(f"{p.text} [{p.kind}]" for p in way.parts)]
    for p in way.parts:
        if p.readings or p.value:
            readings = "、".join(p.readings[:3])
            number = f"({p.value})" if p.value.isdigit() else ""
            rows.append(f"        {p.text}: " + "  ".join(x for x in (readings, p.meaning, number) if x))
    rows += [f"        {p.name or 'not named'}: {p.role} ({p.why})" for p in way.persons]
    rows += [f"        {c.part} {c.verdict}: {c.words}" for c in way.checks]
    rows += [f"        not analysed: {'、'.join(way.not_analysed)}"] if way.not_analysed else []
    return "\n".join(rows)


COMMANDS = (line, signature)
