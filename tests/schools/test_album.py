"""A school in its own register: makers, specimens, studies, through public names and the command line.

Makers and forms are invented and drawn here; nobody real is meant.
"""

import dataclasses
import json

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image, ImageDraw

import readaid
from readaid.cli import main
from readaid.core.errors import OptionError, ReadaidError, TableError
from readaid.core.person import Person, Role
from readaid.core.photo import rectangle
from readaid.core.school import Origin
from readaid.schools import study_page

MAKERS = ("name,teacher,active_from,active_to\nRokusen,,1760,1790\nTansei,Rokusen,1785,1820\n"
          "Unkei-sha,Rokusen,1790,1830\n")
#: Invented monograms as strokes on a sheet of 120 x 120.
STROKES = {
    "Rokusen": [[(20, 30), (100, 30)], [(60, 10), (60, 100)], [(30, 100), (95, 90)]],
    "Tansei": [[(20, 20), (90, 100)], [(90, 20), (20, 100)], [(15, 60), (105, 60)]],
    "Unkei-sha": [[(25, 25), (95, 25), (95, 95), (25, 95), (25, 25)], [(60, 25), (60, 95)]],
}


def drawn(maker, seed=0):
    """A form by this hand: the strokes with each corner moved a little."""
    random = np.random.default_rng(seed)
    page = Image.new("L", (120, 120), 240)
    for stroke in STROKES[maker]:
        points = [tuple(np.array(p) + random.normal(0, 2.0, 2)) for p in stroke]
        ImageDraw.Draw(page).line(points, fill=30, width=5)
    return page


@pytest.fixture
def scans(tmp_path):
    folder = tmp_path / "scans"
    rows = ["file,maker,year,citation,page,rights"]
    for at, maker in enumerate(STROKES):
        for n in range(3):
            (folder / maker).mkdir(parents=True, exist_ok=True)
            drawn(maker, 10 * at + n).save(folder / maker / f"{n}.png")
            rows.append(f"{maker}/{n}.png,{maker},{1790 + 10 * n},Album of invented marks,{n + 1},the museum")
    (tmp_path / "scans.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return folder


@pytest.fixture
def school(tmp_path, scans):
    with readaid.school(tmp_path / "school", title="Three hands", reader="Mori") as opened:
        opened.add_makers(MAKERS)
        opened.add_folder(scans, tmp_path / "scans.csv")
        yield opened


def test_makers_and_specimens_are_tidy(school):
    makers, specimens = school.makers, school.specimens
    assert makers.loc[makers.name == "Tansei", "teacher_name"].item() == "Rokusen"
    assert makers["forms"].tolist() == [3, 3, 3]
    assert specimens.groupby("maker_name").size().to_dict() == {"Rokusen": 3, "Tansei": 3, "Unkei-sha": 3}
    assert set(specimens["origin"]) == {"Album of invented marks"}
    assert set(specimens["rights"]) == {"the museum"}
    assert specimens["year"].dtype == "Int64"
    assert [s.citation for s in school.register.all("source")] == ["Album of invented marks"]


def test_what_is_taken_in_again_is_not_doubled(school, scans, tmp_path):
    version = school.register.version
    school.add_folder(scans, tmp_path / "scans.csv")
    school.add_makers(MAKERS)
    assert school.register.version == version  # nothing changed, so nothing was written
    school.add_makers("name,died\nRokusen,1795\n")
    assert (school.makers["name"].tolist().count("Rokusen"), len(school.makers)) == (1, 3)
    known = school.makers.set_index("name").loc["Rokusen"]
    assert (known["died"], known["active_from"]) == (1795, 1760)
    again = school.add_picture(scans / "Rokusen" / "0.png")
    assert len(school.specimens) == 9
    assert {o.kind for o in again.origins} == {"publication", "file"}


def test_faults_of_tables_are_told_at_once(school, tmp_path):
    table = tmp_path / "bad.csv"
    table.write_text("file,maker,year\nno.png,Rokusen,1800\nRokusen/0.png,Nobody,early\n", encoding="utf-8")
    with pytest.raises(TableError, match=r"row 2: .*no\.png.*row 3: 'Nobody'.*row 3: year is 'early'"):
        school.add_folder(tmp_path / "scans", table)
    with pytest.raises(OptionError, match="Rokusenn"):
        school.add_picture(drawn("Rokusen"), maker="Rokusenn")


def test_a_picture_outside_the_folder_is_no_row(school, tmp_path):
    (tmp_path / "secret.png").write_bytes((tmp_path / "scans" / "Rokusen" / "0.png").read_bytes())
    table = tmp_path / "out.csv"
    table.write_text("file\n../secret.png\n", encoding="utf-8")
    with pytest.raises(TableError, match="no picture"):
        school.add_folder(tmp_path / "scans", table)


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with pytest.raises(ReadaidError, match="folder cannot be made"):
        readaid.school(tmp_path / "file" / "school", "Hanabishi")


def test_a_study_names_the_right_maker_and_is_kept(school):
    study = school.study(title="Nine forms")
    assert study.matrix.shape == (9, 9)
    assert study.matrix.index.tolist() == school.specimens.index.tolist()
    pairs = study.to_frame()
    assert len(pairs) == 36
    same = pairs[pairs.a_maker == pairs.b_maker].likeness.mean()
    other = pairs[pairs.a_maker != pairs.b_maker].likeness.mean()
    assert same > other + 0.3
    found = study.nearest(drawn("Tansei", 99))
    assert found.neighbours[0].maker == "Tansei"
    assert (found.population, found.makers) == (9, 3)
    assert "no proof of authorship" in study.sentences()[-1]

    record = school.keep(study, note="first look")
    again = school.study([record.id])
    np.testing.assert_allclose(again.likeness, study.likeness, atol=1e-6)
    assert dict(record.settings)["seed"] == "0"
    assert record.version == readaid.__version__
    assert school.studies.loc[record.id, "forms"] == 9
    _, off = school.rerun(record.id)
    assert off < 1e-5  # what was kept can be made again


def test_the_page_of_a_study_keeps_owners_to_itself(school, tmp_path):
    """Whoever is known only as an owner stays here, in titles and in makers' notes too, unless it is asked for."""
    owner = Person("Karasu Bunzo")
    school.register.save_all([owner, Role(school.people[0].id, "maker"),
                              Role(owner.id, "owner")], reader="Mori")
    maker = school.people[1]
    school.register.save(dataclasses.replace(maker, name="Tansei", note="seen at Karasu Bunzo's"), reader="Mori")
    study = school.study(title="Marks lent by Karasu Bunzo")
    pages = []
    for private in (False, True):
        path = study_page.write(study.under(school.veil(private)), tmp_path / f"{private}.html")
        pages.append(path.read_text(encoding="utf-8"))
    assert "Karasu" not in pages[0]
    assert "Marks lent by […]" in pages[0]
    assert "Marks lent by Karasu Bunzo" in pages[1]
    assert pages[0].count("Tansei") == pages[1].count("Tansei") > 0  # makers stay
    under = study.under(school.veil())
    assert "Karasu" not in "".join(m.note for m in under.makers)
    np.testing.assert_array_equal(under.likeness, study.likeness)


def test_one_of_the_study_is_left_out_when_it_is_asked_about(school):
    study = school.study()
    asked = school.specimens.index[0]
    found = study.nearest(asked)
    assert found.population == 8
    assert found.neighbours[0].maker == "Rokusen"


def test_the_short_list_comes_from_stored_descriptors(school):
    near = school.nearest(drawn("Unkei-sha", 77), k=3)
    assert near.iloc[0]["maker_name"] == "Unkei-sha"
    assert near["cosine"].is_monotonic_decreasing
    assert (school.folder / "forms.npz").is_file()
    (school.folder / "forms.npz").write_bytes(b"cut off")
    school.add_picture(np.asarray(drawn("Tansei", 5)), maker="Tansei")
    assert len(school.nearest(drawn("Tansei", 78), k=10)) == 10  # made again from the pictures


def test_specimens_of_a_piece_keep_a_link_and_leave_the_piece_alone(school, tmp_path):
    drawn("Tansei", 3).convert("RGB").resize((600, 600)).save(tmp_path / "lid.png")
    with readaid.new(tmp_path / "piece", reader="Aki", title="Lid with a mark") as piece:
        photo = piece.add_photo(tmp_path / "lid.png", rights="Aki")
        inscription = piece.layout.inscription("signature", photo)
        zone, _ = piece.layout.draw(inscription, photo, rectangle(30, 30, 540, 540))
        maker = piece.signers.add_person("Tansei")
        piece.signers.add_specimen(zone, person=maker.id)
        before = piece.version
        came = school.add_piece(piece)
        assert piece.version == before
        school.add_piece(piece)
    assert len(school.specimens) == 10
    origin = came[0].origins[0]
    assert (origin.kind, origin.title, origin.piece) == ("piece", "Lid with a mark", piece.piece.id)
    assert len(school.makers) == 3  # the piece's Tansei is the school's
    assert school.specimens.loc[came[0].id, "maker_name"] == "Tansei"
    assert school.study().nearest(came[0].id).neighbours[0].maker == "Tansei"


def test_where_there_is_no_school(tmp_path):
    with pytest.raises(ReadaidError, match="readaid school new"):
        readaid.school(tmp_path / "nothing")
    readaid.new(tmp_path / "piece", reader="Aki").close()
    with pytest.raises(ReadaidError, match="of a piece"):
        readaid.school(tmp_path / "piece", title="School")


def test_the_command_line_does_a_study(tmp_path, scans):
    run = CliRunner().invoke
    place = str(tmp_path / "by-command")
    (tmp_path / "makers.csv").write_text(MAKERS, encoding="utf-8")
    made = run(main, ["school", "new", place, "--title", "Three hands of Karasu Bunzo", "--makers",
                      str(tmp_path / "makers.csv")])
    assert made.exit_code == 0, made.output
    added = run(main, ["school", "add", place, "--folder", str(scans), "--json"])
    rows = json.loads(added.output)
    assert len(rows) == 9
    assert {r["maker_name"] for r in rows} == set(STROKES)
    drawn("Rokusen", 50).save(tmp_path / "new.png")
    near = json.loads(run(main, ["school", "nearest", place, str(tmp_path / "new.png"), "--json"]).output)
    assert near["neighbours"][0]["maker"] == "Rokusen"
    pairs = json.loads(run(main, ["school", "compare", place, "--json"]).output)
    assert len(pairs) == 36
    assert run(main, ["school", "tree", place]).output.splitlines() == ["Rokusen", "  Tansei", "  Unkei-sha"]
    with readaid.school(place, reader="Mori") as opened:
        owner = Person("Karasu Bunzo")
        opened.register.save_all([owner, Role(owner.id, "owner")], reader="Mori")
    page = tmp_path / "study.html"
    told = run(main, ["school", "report", place, "--out", str(page)])
    assert told.exit_code == 0, told.output
    text = page.read_text(encoding="utf-8")
    assert "no proof of authorship" in text
    assert "Three hands of […]" in text
    assert "Karasu" not in text, "an owner is told only where it is asked for"
    assert "default-src 'none'" in text
    missing = run(main, ["school", "tree", str(tmp_path / "none")])
    assert missing.exit_code == 2
    assert "readaid school new" in missing.output


def test_a_school_on_a_server_with_a_folder_of_pictures(empty_server, tmp_path, scans):
    with pytest.raises(ReadaidError, match="folder of pictures"):
        readaid.school(empty_server, title="Three hands")
    pictures = tmp_path / "pictures-of-the-department"
    with readaid.school(empty_server, title="Three hands", reader="Mori", pictures=pictures) as mine:
        mine.add_makers(MAKERS)
        mine.add_folder(scans)
        with readaid.school(empty_server, reader="Aki", pictures=pictures) as theirs:  # two at one school
            theirs.add_maker("Kosetsu", teacher="Tansei")
            assert len(theirs.specimens) == 9
        assert "Kosetsu" in mine.makers["name"].tolist()
        record = mine.keep(mine.study(title="All"))
        assert mine.register.history(record.id)[0].reader == "Mori"
    assert (pictures / "pictures").is_dir()
    assert not (pictures / "register.sqlite").exists()


def test_a_study_on_a_cluster_has_the_same_figures(school):
    distributed = pytest.importorskip("distributed", reason="work on a cluster needs readaid[department]")
    here = school.study().likeness
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=False,
                                  dashboard_address=None) as local:
        there = school.study(cluster=local.scheduler_address).likeness
    # sums in single precision: the last digit may fall otherwise in another thread
    np.testing.assert_allclose(there, here, rtol=0, atol=1e-6)
    with pytest.raises(OptionError, match="tcp://"):
        _ = school.study(cluster="nowhere").likeness


def test_a_specimen_is_found_in_every_piece_and_publication(school, tmp_path):
    """One form met in two pieces and a book is one specimen with three origins, and each is told."""
    held = next(i for i, s in school.specimens.iterrows() if s.maker_name == "Rokusen" and s.year == 1790)
    for name in ("lid", "knife"):
        school.add_picture(school.images.folder / school.specimens.loc[held, "picture"],
                           origin=Origin("piece", f"A {name}", str(tmp_path / name), name, f"zone of {name}"))
    assert len(school.specimens) == 9
    places = school.whereabouts
    told = places[places.specimen == held]
    assert sorted(zip(told.kind, told.title, strict=True)) == [
        ("piece", "A knife"), ("piece", "A lid"), ("publication", "Album of invented marks")]
