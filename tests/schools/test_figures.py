"""Figures to print: what stands in them, read back from the sheets and their SVG."""

import dataclasses
import re

import numpy as np
import pytest
from lxml import etree

import readaid
from readaid.core import texts
from readaid.core.errors import OptionError, ShapeError
from readaid.forms.correspondence import correspond
from readaid.forms.pair_plate import stroke_plate
from readaid.forms.sheet_items import Inset, Stroke, Words
from readaid.schools.dendrogram import dendrogram
from readaid.schools.figures import FIGURES
from readaid.schools.study import Study
from tests.schools.test_album import MAKERS, STROKES, drawn


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    with readaid.school(tmp_path_factory.mktemp("school"), title="Three hands", reader="Mori") as school:
        school.add_makers(MAKERS.replace("Tansei", "丹青"))
        for at, maker in enumerate(STROKES):
            for n in range(3):
                form = np.asarray(drawn(maker, 10 * at + n).convert("RGB"))
                school.add_picture(form, maker.replace("Tansei", "丹青"), year=1790 + 10 * n)
        return school.study(title="Nine forms")


def words(sheet):
    return [item.text for item in sheet.items if isinstance(item, Words)]


@pytest.mark.parametrize("kind", ["matrix", "tree", "makers", "map", "drift"])
def test_every_figure_tells_its_n_its_method_and_the_caution(study, kind):
    sheet = study.figure(kind)
    for said in ("n = 9 forms of 3 makers", f"readaid {readaid.__version__}", "no proof of authorship"):
        assert said in sheet.caption
    assert sheet.caption.count("no proof of authorship") == 1
    assert " ".join(words(sheet)).count("no proof of authorship") == 1  # and it stands on the sheet itself
    named = "Rokusen" if kind == "drift" else "丹青"  # one maker's forms, the first with a year each
    assert any(named in t for t in words(sheet))
    inside = [(x, y) for i in sheet.items for x, y in (i.points if isinstance(i, Stroke) else [i.at] if
              isinstance(i, Words) else [i.box[:2]])]
    assert all(-1 <= x <= sheet.width + 1 and -1 <= y <= sheet.height + 1 for x, y in inside)
    etree.fromstring(sheet.svg().encode())


@pytest.mark.parametrize(("kind", "titles"), [
    ("tree", ["distance, -ln(likeness)"]), ("makers", ["year"]), ("map", ["first axis", "second axis"]),
    ("drift", ["year", "distance from the earliest form"]), ("matrix", ["likeness"])])
def test_axes_have_titles(study, kind, titles):
    assert set(titles) <= set(words(study.figure(kind)))


@pytest.fixture
def in_japanese():
    texts.speak("ja")
    yield
    texts.speak("en")


@pytest.mark.parametrize("kind", ["matrix", "tree", "makers", "map", "drift"])
def test_a_figure_is_whole_in_japanese(study, kind, in_japanese):
    """Names are the reader's own; UPGMA and ln are no language."""
    sheet = study.figure(kind)
    assert "n = 9例、作者3人" in sheet.caption
    assert sheet.caption.count("形の類似は作者の証明ではない") == 1
    names = sorted({e.maker.name for e in study.entries}, key=len, reverse=True)
    own = re.compile("|".join(map(re.escape, [*study.title.split(), *names, "readaid", "UPGMA", "ln"])))
    told = [sheet.title, sheet.caption, *words(sheet), *(i.said for i in sheet.items if isinstance(i, Inset))]
    assert not [t for t in told if re.search(r"[A-Za-z]{2,}", own.sub("", t))]
    assert not [t for t in told if "(" in own.sub("", t) and not t.isascii()], "brackets of Latin width in Japanese"


def test_the_matrix_shows_what_the_study_holds(study):
    shown = [t for t in words(study.figure("matrix")) if t.startswith(".") or t in ("1.00",)]
    values = sorted(f"{v:.2f}"[1:] for v in study.likeness[~np.eye(9, dtype=bool)])
    assert sorted(t for t in shown if t.startswith(".")) == values


def test_trees_and_drift_show_the_forms(study):
    assert sum(isinstance(i, Inset) for i in study.figure("tree").items) == 9
    assert sum(isinstance(i, Inset) for i in study.figure("makers").items) == 3
    assert sum(isinstance(i, Inset) for i in study.figure("drift", "丹青").items) == 3


def test_a_plate_tells_the_disagreeing_part_and_draws_both(study):
    a, b = (study.entries[i].specimen.id for i in (0, 4))
    plate = study.plate(a, b)
    assert sum(isinstance(i, Inset) for i in plate.items) == 3
    found = study.compare(a, b)
    assert f"({found.likeness:.2f} on a scale" in plate.caption
    for name, value in found.parts.items():
        assert f"{name} {value:.2f}" in plate.caption


def test_what_cannot_be_drawn_says_why(study):
    with pytest.raises(ShapeError, match="from 8 makers with 3 forms"):
        study.figure("calibration")
    with pytest.raises(OptionError, match="did you mean 'matrix'"):
        study.figure("matrx")
    assert set(FIGURES) == {"matrix", "tree", "makers", "map", "drift", "calibration"}


def test_strokes_bear_their_numbers_and_a_scale_only_where_it_is_known():
    form = [[(0, 0), (100, 0)], [(50, -40), (50, 80)], [(80, 30)]]
    found = correspond(form, form[:2])
    plate = stroke_plate(found, ("蘆香", "鷺洲"), "mm")
    assert {"1", "2", "3", "(1)", "(2)", "50 mm"} <= set(words(plate))
    bar = next(i for i in plate.items if isinstance(i, Stroke) and i.width == 0.8)
    longest = next(i for i in plate.items if isinstance(i, Stroke) and len(i.points) == 2 and i.width == 0.6)
    scale = abs(longest.points[1][0] - longest.points[0][0]) / 100
    assert bar.points[1][0] - bar.points[0][0] == pytest.approx(50 * scale)
    assert "Only the first has stroke 3" in plate.caption
    for name in ("1, 2 …: 蘆香", "(1), (2) …: 鷺洲"):  # the sample of each line stands before its name, 1 mm up
        x, y = next(i.at for i in plate.items if isinstance(i, Words) and i.text == name)
        assert ((x - 9, y - 1), (x - 2, y - 1)) in [i.points for i in plate.items if isinstance(i, Stroke)], name
    assert "scale not known" in words(stroke_plate(found))


def test_support_of_seven_forms_is_held_against_chance():
    """Two groups of three and a loner, far apart, shaken a little: both groups are firm; among forms without kinship
    no group is."""
    rng = np.random.default_rng(5)
    at = np.array([[0, 0], [0.2, 0], [0, 0.2], [6, 0], [6.2, 0], [6, 0.2], [3, 9]])

    def shaken(points, by):
        moved = points + rng.normal(0, by, points.shape)
        return np.hypot(*(moved[:, None] - moved[None]).transpose(2, 0, 1))

    names = list("abcdefg")
    firm = dendrogram(shaken(at, 0), names, [shaken(at, 0.4) for _ in range(60)])
    assert {g.members for g in firm.groups if g.firm and len(g.members) == 3} == {(0, 1, 2), (3, 4, 5)}
    loose = rng.normal(0, 1, (7, 7))
    loose = 5 + (loose + loose.T) / 2 * (1 - np.eye(7))
    np.fill_diagonal(loose, 0)

    def noisy():
        noise = rng.normal(0, 0.5, (7, 7))
        out = loose + (noise + noise.T) / 2
        np.fill_diagonal(out, 0)
        return out

    none = dendrogram(loose, names, [noisy() for _ in range(60)])
    assert not any(g.firm for g in none.groups if 3 <= len(g.members) < 7)
    assert "No group" in none.text


def dated(study, changes):
    """The study with other years: ``changes`` takes an entry to its (year, fields of the maker)."""
    entries = []
    for e in study.entries:
        year, fields = changes(e)
        entries.append(dataclasses.replace(e, specimen=dataclasses.replace(e.specimen, year=year),
                                           maker=dataclasses.replace(e.maker, **fields)))
    return Study(study.title, entries, study.makers, likeness=study.likeness)


UNDATED = {"active_from": None, "active_to": None, "born": None, "died": None}


def test_the_joining_tree_marks_the_year_of_each_form_on_an_axis(study):
    """1790, 1800, 1810 lie at the left end, the middle and the right end of the axis of years, on the leaf's row."""
    sheet = study.figure("tree")
    title = next(i for i in sheet.items if isinstance(i, Words) and i.text == "year")
    assert "not at times" in sheet.caption
    axis = next(i for i in sheet.items if isinstance(i, Stroke) and len(i.points) == 2 and i.points[0][1] ==
                i.points[1][1] == pytest.approx(title.at[1] - 8) and sum(p[0] for p in i.points) / 2 ==
                pytest.approx(title.at[0]))
    (left, _), (right, _) = axis.points
    order = study.dendrogram().order
    rows = [i.at[1] for i in sheet.items if isinstance(i, Words) and i.text in study.labels]
    assert len(rows) == 9
    for place, y in zip(order, rows, strict=True):
        year = study.entries[place].specimen.year
        wanted = left + (right - left) * (year - 1790) / 20
        marks = [sum(p[0] for p in i.points) / len(i.points) for i in sheet.items if isinstance(i, Stroke)
                 and len(i.points) > 2 and min(p[0] for p in i.points) > left - 3
                 and abs(sum(p[1] for p in i.points) / len(i.points) - (y - 1.2)) < 1.5]
        assert any(abs(x - wanted) < 0.6 for x in marks), (year, wanted, marks)


def test_a_form_without_a_year_shows_its_maker_s_and_open_ends_are_told(study):
    names = [m.name for m in study.makers]
    spans = {names[0]: (None, {**UNDATED, "active_from": 1780, "active_to": 1812, "born": 1750}),
             names[1]: (None, {**UNDATED, "died": 1812}), names[2]: (None, UNDATED)}
    sheet = dated(study, lambda e: spans[e.maker.name]).figure("tree")
    told = words(sheet)
    assert [told.count(t) for t in ("1780–1812", "?–1812", "no date")] == [3, 3, 3]
    bars = [i.points for i in sheet.items if isinstance(i, Stroke) and i.width == 1.1]
    assert len(bars) == 6
    full = max(p[1][0] - p[0][0] for p in bars)
    assert min(p[1][0] - p[0][0] for p in bars) == pytest.approx(full * 0.12)
    axis = next(i for i in sheet.items if isinstance(i, Words) and i.text == "1780")
    assert axis.at[0] == pytest.approx(min(p[0][0] for p in bars))


def test_without_any_date_the_tree_has_no_axis_of_years(study):
    sheet = dated(study, lambda e: (None, UNDATED)).figure("tree")
    assert "year" not in words(sheet)
    assert "not at times" not in sheet.caption
