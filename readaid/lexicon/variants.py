"""What one sign may stand for: the writing rules for a single sign, each with its cost and reason.

Conventions: ``text`` is what the dictionary is asked, ``kana`` the carver's
spelling with voicing restored ("" for a kanji, whose reading the dictionary
gives). Costs in the dictionary's units; ``at`` of a reason is filled in by the builder. The rules are
tables of ``script``; what each costs is in ``weights.tsv``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from readaid.core.lattice import Reason
from readaid.lexicon.costs import Costs
from readaid.script import hentaigana, kana, kana_kanji, kanji, voicing


@dataclass(frozen=True, slots=True)
class Variant:
    """One value of one sign."""

    text: str
    kana: str
    cost: float
    reasons: tuple[Reason, ...] = ()
    place: str = "any"  # as in ``core.lattice.Arc``

    def also(self, kind: str, written: str, text: str, cost: float, *, spelled: str | None = None,
             place: str = "any", note: str = "") -> Variant:
        """This variant with one rule more."""
        return Variant(text, self.kana if spelled is None else spelled, self.cost + cost,
                       (*self.reasons, Reason(kind, written, text, -1, cost, note)),
                       place if self.place == "any" else self.place)


def of_sign(sign: str, costs: Costs) -> list[Variant]:
    """All values of one sign, the plain one first; [] for an unread sign or a repetition mark."""
    kind = kana.kind(sign)
    if kind is kana.Kind.PUNCTUATION:
        return [Variant(sign, "", 0.0)]
    if kind is kana.Kind.KANJI:
        return _kanji(sign, costs)
    if sign in kana.LIGATURES:
        said = kana.LIGATURES[sign]
        return [Variant(said, said, 0.0, (Reason("ligature", sign, said),))]
    out: dict[tuple[str, str, str], Variant] = {}
    for base in _bases(sign, kind, costs):
        for v in spellings(base, sign, costs):
            key = (v.text, v.kana, v.place)
            if key not in out or v.cost < out[key].cost:
                out[key] = v
    return list(out.values())


def _bases(sign: str, kind: kana.Kind, costs: Costs) -> list[Variant]:
    """The plain kana of a kana letter."""
    if kind is kana.Kind.HENTAIGANA:
        mark = sign[1:]
        out = []
        for number, sound in enumerate(hentaigana.sounds(sign[0])):
            marked = kana.clean(sound + mark)
            price = costs.weight("hentaigana second sound") if number else 0.0
            out.append(Variant(marked, marked, price, (Reason("hentaigana", sign, marked, -1, price),)))
        return out
    if kind is kana.Kind.KANA:
        hira = kana.to_hiragana(sign)
        reasons = (Reason("katakana", sign, hira),) if kana.is_katakana(sign) and hira != sign else ()
        return [Variant(hira, hira, 0.0, reasons)]
    return []


def spellings(base: Variant, sign: str, costs: Costs) -> list[Variant]:
    """A plain kana with its voiced, half-voiced and small values."""
    if len(base.kana) != 1 or costs.plain:
        return [base]
    out = []
    for value in voicing.values(base.kana):
        if not value.reason:
            out.append(base)
        elif value.reason == "small kana":
            price = costs.weight(value.reason) + costs.grade(value.grade)
            out.append(base.also(value.reason, sign, value.kana, price, spelled=base.kana))
        else:
            out.append(base.also(value.reason, sign, value.kana, costs.weight(value.reason), spelled=value.kana))
    return out


def _kanji(sign: str, costs: Costs) -> list[Variant]:
    out = [Variant(sign, "", 0.0)]
    new = kanji.new_form(sign)
    if new != sign and not costs.plain:
        out.append(out[0].also("old kanji", sign, new, costs.weight("old kanji")))
    if costs.plain:
        return out
    for value in kana_kanji.values(sign):
        price = costs.weight("kanji as kana") + costs.grade(value.grade)
        base = Variant(value.kana, value.kana, price, (Reason(value.reason, sign, value.kana, -1, price),))
        out += spellings(base, sign, costs)
    return out


def placed(variant: Variant, at: int) -> Variant:
    """The same variant with the position written into its reasons."""
    return replace(variant, reasons=tuple(replace(r, at=at) if r.at < 0 else r for r in variant.reasons))
