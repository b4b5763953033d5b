"""Schools: tables of makers, matrices, Mantel tests, trees and maps, checked against general libraries."""

import numpy as np
import pytest
from lxml import etree
from PIL import Image
from scipy.cluster.hierarchy import cophenet, linkage
from scipy.spatial import procrustes
from scipy.spatial.distance import pdist, squareform

from readaid.core.errors import OptionError, ReadaidError, ShapeError, TableError
from readaid.schools.dendrogram import dendrogram
from readaid.schools.drift import over_time
from readaid.schools.lineage import follows_lineage
from readaid.schools.makers import lineage_distances, read_makers
from readaid.schools.mantel import mantel
from readaid.schools.matrix import distance, likeness_matrix, of_makers
from readaid.schools.nearest import Population, Reference
from readaid.schools.plane import map_of
from readaid.schools.tree import tree_of

TABLE = (
    "name,teacher,active_from,active_to\nAkihisa,,1700,1730\nYasunori,Akihisa,1725,1750\nMasatane,Akihisa,1728,1760\n"
    "Nobuhisa,Yasunori,1750,1775\nTomokage,,1705,1735\n"
)


def random_distances(n, seed):
    return squareform(pdist(np.random.default_rng(seed).normal(size=(n, 3))))


def test_makers_from_csv():
    makers = read_makers(TABLE)
    assert [m.generation for m in makers] == [1, 2, 2, 3, 1]
    steps = lineage_distances(makers)
    assert steps[3].tolist() == [2, 1, 3, 0, 4]  # two trees: one step beyond the longest way


def test_makers_from_file(tmp_path):
    path = tmp_path / "makers.csv"
    path.write_text(TABLE, encoding="utf-8-sig")
    assert read_makers(path)[0].name == "Akihisa"
    with pytest.raises(TableError, match="not found"):
        read_makers(tmp_path / "nobody.csv")


def test_teacher_loop_is_told_once_with_names():
    with pytest.raises(TableError, match=r"loop: A was taught by C was taught by B was taught by A") as caught:
        read_makers("name,teacher\nA,C\nB,A\nC,B\n")
    assert len(caught.value.values["faults"]) == 1


def test_faults_are_told_together():
    with pytest.raises(TableError) as caught:
        read_makers("name,teacher,born\nA,,x\nA,,\nB,nobody,\n")
    assert len(caught.value.values["faults"]) == 3
    with pytest.raises(OptionError, match="teacher"):
        read_makers("name,techer\nA,\n")


def test_one_form_in_a_school():
    with pytest.raises(ShapeError, match="One form alone"):
        likeness_matrix([np.zeros((9, 9), np.uint8)])


def test_distances():
    d = distance(np.array([[1, 0.2, 0.5], [0.2, 1, 0.1], [0.5, 0.1, 1]]))
    assert d[0, 1] == pytest.approx(-np.log(0.2))
    order, far = of_makers(d, ["a", "b", "b"])
    assert order == ["a", "b"]
    assert far[0, 1] == pytest.approx((d[0, 1] + d[0, 2]) / 2)


@pytest.mark.parametrize("side", ["greater", "two-sided"])
def test_mantel_equals_scikit_bio(side):
    # oracle: scikit-bio 0.7, skbio.stats.distance.mantel (Pearson)
    skbio = pytest.importorskip("skbio.stats.distance")
    x, y = random_distances(10, 1), random_distances(10, 2)
    y = y + 0.6 * x
    ours = mantel(x, y, shuffles=4999, side=side)
    r, p, n = skbio.mantel(x, y, method="pearson", permutations=4999, alternative=side, seed=3)
    assert ours.r == pytest.approx(r, abs=1e-9)
    assert ours.p == pytest.approx(p, abs=0.02)
    assert ours.n == n


def test_partial_mantel_equals_the_formula_on_residuals():
    # oracle: the partial correlation is the correlation of residuals (NumPy least squares)
    x, y, z = (random_distances(9, s) for s in (4, 5, 6))
    x, y = x + z, y + z
    up = np.triu_indices(9, 1)
    a = np.stack([np.ones(36), z[up]], 1)
    rest = [v - a @ np.linalg.lstsq(a, v, rcond=None)[0] for v in (x[up], y[up])]
    assert mantel(x, y, z, shuffles=99).r == pytest.approx(np.corrcoef(*rest)[0, 1], abs=1e-9)


def test_small_mantel_is_exact():
    x = random_distances(5, 7)
    found = mantel(x, x)
    assert found.complete
    assert found.shuffles == 120
    assert found.p == pytest.approx(1 / 120)


def test_mantel_bad_input():
    with pytest.raises(ShapeError, match="three"):
        mantel(np.zeros((2, 2)), np.zeros((2, 2)))
    with pytest.raises(ShapeError, match="symmetrical"):
        mantel(np.arange(9.0).reshape(3, 3), np.zeros((3, 3)))
    with pytest.raises(OptionError, match="greater"):
        mantel(np.zeros((3, 3)), np.zeros((3, 3)), side="greatr")
    assert mantel(np.ones((4, 4)) - np.eye(4), random_distances(4, 1)).p == 1.0


def test_dendrogram_equals_scipy():
    d = random_distances(9, 3)
    found = dendrogram(d, [str(i) for i in range(9)])
    flat = squareform(d)
    joins = linkage(flat, "average")
    assert np.allclose(found.joins, joins)
    assert found.cophenetic == pytest.approx(cophenet(joins, flat)[0], abs=1e-4)
    assert len(found.groups) == 8
    assert all(0 <= g.support <= 1 for g in found.groups)
    etree.fromstring(found.svg())


def test_two_clear_groups_have_support():
    at = np.concatenate(
        [np.random.default_rng(0).normal(0, 0.3, (5, 2)), np.random.default_rng(1).normal(8, 0.3, (5, 2))]
    )
    found = dendrogram(squareform(pdist(at)), list("abcdefghij"))
    assert {g.members: g.support for g in found.groups}[(0, 1, 2, 3, 4)] == 1.0


def test_map_finds_a_plane_again():
    # oracle: SciPy's Procrustes; a plane is shown whole
    at = np.random.default_rng(2).normal(size=(8, 2))
    found = map_of(squareform(pdist(at)), [str(i) for i in range(8)])
    assert procrustes(at, found.at)[2] < 1e-12
    assert found.share == 1.0
    etree.fromstring(found.svg())
    with pytest.raises(ShapeError, match="three"):
        map_of(np.zeros((2, 2)), ["a", "b"])


def test_tree_layout_and_svg():
    makers = read_makers(TABLE)
    tree = tree_of(makers)
    assert {p.maker.name: (p.x, p.y) for p in tree.places} == {
        "Akihisa": (0.5, 0),
        "Yasunori": (0, 1),
        "Masatane": (1, 1),
        "Nobuhisa": (0, 2),
        "Tomokage": (2, 0),
    }
    assert tree.lines == ((0, 1), (0, 2), (1, 3))
    svg = tree.svg({makers[0].id: Image.new("L", (300, 200), 128)})
    root = etree.fromstring(svg)
    assert len(root.findall(".//{*}image")) == 1
    assert len(root.findall(".//{*}rect")) == 5


def test_lineage_where_it_holds_and_where_not():
    names = ["M0"] + [f"P{i}" for i in range(3)] + [f"Q{i}{j}" for i in range(3) for j in range(3)]
    teachers = [""] + ["M0"] * 3 + [f"P{i}" for i in range(3) for j in range(3)]
    makers = read_makers("name,teacher\n" + "\n".join(f"{n},{t}" for n, t in zip(names, teachers, strict=True)))
    steps = lineage_distances(makers)
    noise = random_distances(len(makers), 5)
    owner = [m.id for m in makers]
    found = follows_lineage(steps + 0.3 * noise, owner, makers)
    assert found.follows
    assert found.low < found.plain.r < found.high
    assert "fashion" in found.text
    assert "no proof of authorship" in found.text
    none = follows_lineage(noise, owner, makers)
    assert not none.follows
    assert "does not mean that there is nothing" in none.text


def test_dates_alone_are_told_from_lineage():
    years = [1700, 1720, 1724, 1745, 1750, 1770, 1776, 1800]
    names, teachers = list("ABCDEFGH"), ["", "A", "A", "B", "C", "D", "B", "E"]
    makers = read_makers("name,teacher\n" + "\n".join(f"{n},{t}" for n, t in zip(names, teachers, strict=True)))
    apart = np.abs(np.subtract.outer(years, years)).astype(float)
    found = follows_lineage(apart + 3 * random_distances(8, 1), [m.id for m in makers], makers, years)
    assert found.dates.p < 0.05
    assert not found.follows


def test_lineage_needs_four_makers():
    makers = read_makers("name,teacher\nA,\nB,A\nC,A\n")
    with pytest.raises(ShapeError, match="four"):
        follows_lineage(random_distances(3, 1), [m.id for m in makers], makers)
    with pytest.raises(ShapeError, match="nobody"):
        follows_lineage(random_distances(3, 1), ["x", "y", "z"], makers)


def test_drift_over_time():
    years = [1800, 1804, 1809, 1815, 1821, 1828, 1834]
    apart = np.abs(np.subtract.outer(years, years)) / 10
    found = over_time(apart + 0.2 * random_distances(7, 3), years, "Akihisa")
    assert found.test.p < 0.05
    assert found.years[0] == 1800
    assert "Akihisa" in found.text
    etree.fromstring(found.svg())
    assert "too few" in over_time(random_distances(3, 1), [1800, 1810, 1820]).text
    with pytest.raises(ReadaidError, match="two dated forms"):
        over_time(np.zeros((1, 1)), [1800])


def test_a_makers_score_is_that_of_his_two_best_forms():
    """Worked by hand: forms of A 3, 1 and -2, of B 0 alone, of C two equal ones."""
    population = Population.__new__(Population)
    population._set([Reference(None, maker) for maker in "AAABCC"])
    assert population._scores(np.array([3.0, 1.0, -2.0, 0.0, -1.0, -1.0])).tolist() == [2.0, 0.0, -1.0]
    assert population._scores(np.array([3.0, 1.0, -2.0, 0.0, -1.0, -1.0]), leave=3).tolist() == [2.0, -np.inf, -1.0]


def test_the_border_keeps_strangers_out():
    """Each form in turn is a stranger, its own maker left out: at most one in ten stands above the border."""
    rng = np.random.default_rng(4)
    population = Population.__new__(Population)
    population._set([Reference(None, f"maker {i // 4}") for i in range(80)])
    odds = rng.normal(-2, 1, (80, 80))
    odds = (odds + odds.T) / 2
    population._calibrate(odds)
    assert population.calibrated
    strangers = [max(np.delete(population._scores(odds[i], leave=i), i // 4)) for i in range(80)]
    above = np.mean([s >= population.borders[3].kin for s in strangers])
    assert 0 < above <= 0.1


def test_fashion_that_looks_like_lineage_is_told():
    """One pupil after another, every 20 years, and forms that drift with the years: lineage goes with likeness, but
    nothing of it is left with dates held fast (the partial correlation is checked against residuals above)."""
    names = [f"M{i}" for i in range(12)]
    makers = read_makers("name,teacher\n" + "\n".join(f"{n},{names[i - 1] if i else ''}" for i, n in enumerate(names)))
    years = 1700 + 20.0 * np.arange(12) + np.random.default_rng(3).normal(0, 14, 12)
    apart = np.abs(np.subtract.outer(years, years))
    found = follows_lineage(apart + 4 * random_distances(12, 2), [m.id for m in makers], makers, years.tolist())
    assert found.plain.p < 0.01
    assert found.dates.p < 0.01
    assert found.partial.p > 0.05
    assert not found.follows
    assert "dates explain it as well" in found.text
