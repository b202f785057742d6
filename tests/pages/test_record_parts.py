"""Papers, what was done and past jobs, driven in-process: every button, every fault, two panels in step."""

import csv
import hashlib
import io
import json
import re
import shutil
import xml.etree.ElementTree as ET
import zipfile
from datetime import datetime
from pathlib import Path

import pytest
from PIL import Image

from etchcalc.job import keeping, memory, past, pricing
from etchcalc.job.commission_file import opened
from etchcalc.job.film import write_film
from etchcalc.job.losses import looked_up
from etchcalc.job.prices import money
from etchcalc.job.shop import DEMO, Shop
from etchcalc.pages import figures, papers, sheet
from etchcalc.pages.panels import RecordsAndPrice
from etchcalc.pages.panels.controls import html
from etchcalc.pages.panels.done import DonePart
from etchcalc.pages.panels.past_jobs import NONE_JUDGED, PastJobs
from etchcalc.pages.panels.print_papers import ACID, JOB_SHEET, KINDS, PRICED, PapersPart

SVG = "{http://www.w3.org/2000/svg}"
EVIL = "<img src=x onerror=alert(1)>"
STORED = Path(__file__).parents[1] / "records"

DONE = {"done_time": "95 min", "done_depth": "0.25 mm", "done_width": "0.42 mm", "done_temperature": "40 °C"}  # fmt: skip


class Page(RecordsAndPrice):
    """A page of the three parts alone."""

    def _build(self):
        self.papers, self.done, self.past = PapersPart(self), DonePart(self), PastJobs(self)
        self.parts = [self.papers, self.done, self.past]
        self.head, self.box = self._head(), html()


@pytest.fixture(scope="module")
def recorded(measured, tmp_path_factory):
    """A shop whose demonstration is done and has its record."""
    root = shutil.copytree(measured, tmp_path_factory.mktemp("recorded") / "shop")
    page = Page(Shop(root))
    page.choose(**DONE)
    sheet.save(looked_up(page.plan), page.shop.folder(DEMO), "2027-03-27")
    return root


@pytest.fixture
def kept(tmp_path, recorded):
    return Shop(shutil.copytree(recorded, tmp_path / "shop"))


@pytest.fixture
def after(kept):
    return Page(kept)


@pytest.fixture
def panel(shop):
    return Page(shop)


def made(panel, kind):
    panel.papers.kind.box.value = kind
    panel.papers.make.click()
    return panel.papers.says.value


def page_of(panel, kind):
    assert f"/papers/{kind}.html" in made(panel, kind)
    return (panel.shop.folder(panel.name) / "papers" / f"{kind}.html").read_text(encoding="utf-8")


def upload(control, name, content):
    control.upload.value = (
        {
            "name": name,
            "type": "",
            "size": len(content),
            "content": content,
            "last_modified": datetime(2026, 1, 5),
        },
    )


def picture():
    file = io.BytesIO()
    Image.new("RGB", (8, 6), "red").save(file, "JPEG")
    return file.getvalue()


# papers


@pytest.mark.parametrize("kind", papers.NAMES)
def test_one_click_makes_each_paper_with_the_shops_name_and_the_date(panel, kind):
    panel.papers.boxes["shop_name"].box.value = f"Fenwick {EVIL}"
    panel.papers.boxes["paper_date"].box.value = f"26 March {EVIL}"
    for size in papers.SIZES:
        panel.papers.size.box.value = size
        page = page_of(panel, kind)
        assert size in page or kind == "labels"
        assert "Fenwick &lt;img" in page or kind == "labels"  # a label names what is in the bottle
        assert "26 March" in page and "<img src=x" not in page


def test_the_job_sheet_is_the_record_and_another_window_is_told(panel, shop):
    other = Page(shop)
    assert "/record.html" in made(panel, JOB_SHEET)
    assert json.loads((shop.folder(DEMO) / "record.json").read_text("utf-8"))["title"]
    assert "record.html" in panel.past.found.value, "the list has it at once"
    panel.choose(notes="another word")
    assert "Another window" not in made(panel, JOB_SHEET)
    other.look()
    other.choose(notes="one more word")
    said = made(other, JOB_SHEET)
    assert "Another window saved version 2" in said and "earlier/record-0002.json" in said
    assert keeping.version(shop.folder(DEMO)) == 3


def test_the_shops_name_is_kept_for_all_its_jobs_and_pages(panel, shop):
    panel.papers.boxes["shop_name"].box.value = "  Fenwick   plates "
    assert (shop.root / "name").read_text("utf-8") == "Fenwick plates\n"
    assert Page(shop).papers.boxes["shop_name"].box.value == "Fenwick plates"
    other = Page(shop)
    panel.papers.boxes["shop_name"].box.value = "Marsh"
    other.papers.show()
    assert other.papers.boxes["shop_name"].box.value == "Marsh"


def test_a_name_that_cannot_be_kept_gets_a_sentence_and_stays(panel, shop):
    (shop.root / "name").mkdir()
    box = panel.papers.boxes["shop_name"]
    box.box.value = "Fenwick"
    assert "role='alert'" in box.says.value and box.box.value == "Fenwick"


def test_each_paper_asks_its_own(panel):
    def seen(name):
        return "etch-hidden" not in panel.papers.fields[name]._dom_classes

    wanted = {JOB_SHEET: set(), "quotation": {"valid_until"}, "proof": {PRICED}, "labels": {ACID},
              "carrier": {ACID}, "film_order": set()}  # fmt: skip
    for kind, names in wanted.items():
        panel.papers.kind.box.value = kind
        assert {n for n in ("valid_until", PRICED, ACID) if seen(n)} == names
        assert seen("shop_name") == (kind != JOB_SHEET)


def test_the_price_stands_on_the_proof_only_if_it_is_asked_for(panel):
    price = money(pricing.cost_of(panel.plan).gross, "GBP")
    assert price not in page_of(panel, "proof")
    panel.papers.ticks[PRICED].value = True
    assert price in page_of(panel, "proof")
    assert price in page_of(panel, "quotation")


def test_acid_that_was_added_is_told_to_the_carrier(panel):
    assert "no acid was added" in page_of(panel, "carrier")
    panel.papers.ticks[ACID].value = True
    assert "hydrochloric acid was added" in page_of(panel, "carrier")


def test_a_quotation_without_prices_says_which_is_missing(panel):
    panel.papers.kind.box.value = "quotation"
    panel.papers.boxes["valid_until"].box.value = "30 April 2027"
    assert "Valid until 30 April 2027" in page_of(panel, "quotation")
    panel.choose(work="")
    why = pricing.why_not(panel.plan)
    assert (
        why in panel.papers.about.value.replace("&#x27;", "'")
        and "alert" in panel.papers.about.value
    )
    assert panel.papers.make.disabled
    panel.papers.make.click()
    assert "role='alert'" in panel.papers.says.value and "Made" not in panel.papers.says.value
    assert panel.papers.text()[-1] == f"Quotation: not to be had. {why}"
    panel.papers.kind.box.value = "proof"
    assert not panel.papers.make.disabled
    panel.papers.ticks[PRICED].value = True
    assert panel.papers.make.disabled


def test_what_was_assumed_stands_in_the_quotation_and_no_more_of_the_notes(panel):
    panel.choose(notes="Pays late. Assumed, to be asked: open metal 15 %, depth 0.15 mm. Ring him.")
    page = page_of(panel, "quotation")
    assert "Assumed: open metal 15 %, depth 0.15 mm." in page
    assert "Pays late" not in page and "Ring him" not in page


def test_the_films_order_names_the_very_file(panel, shop):
    page = page_of(panel, "film_order")
    assert "No film.tif lies beside" in panel.papers.about.value
    assert not re.search(r"[0-9a-f]{64}", page)
    film = write_film(panel.plan, shop.folder(DEMO))
    page = page_of(panel, "film_order")
    content = (shop.folder(DEMO) / "film.tif").read_bytes()
    assert hashlib.sha256(content).hexdigest() in page and panel.papers.about.value == ""
    # the size as the writer of the film gives it, to the page's three figures
    sides = re.search(r"\(sheet ([\d.]+) mm × ([\d.]+) mm\)", page)
    assert [float(n) for n in sides.groups()] == pytest.approx([film.width, film.height], abs=0.6)
    (shop.folder(DEMO) / "film.tif").write_bytes(b"no film")
    page = page_of(panel, "film_order")
    assert hashlib.sha256(b"no film").hexdigest() in page and "(sheet" not in page


def test_the_papers_read_as_text(panel):
    assert panel.papers.text() == [f"{words}." for words in KINDS.values()]


def test_a_folder_that_cannot_be_written_gets_a_sentence(panel, shop):
    (shop.folder(DEMO) / "papers").write_text("a file", encoding="utf-8")
    assert "role='alert'" in made(panel, "labels")


# as it was done


def do(panel, **said):
    for name, text in said.items():
        panel.done.boxes[name].box.value = text


def test_nothing_done_says_nothing(panel):
    assert panel.done.text() == [] and panel.done.table.value == ""


def test_planned_against_actual(panel):
    do(panel, **DONE)
    rows = panel.done.text()
    # 0.25 over 0.20, 0.42 over 0.40, 40 less 42
    assert "0.2 mm planned, 0.25 mm as it was, +25 %" in rows[1]
    assert "+5 %" in rows[2] and "−2.0 °C" in rows[3]
    assert (
        "95 min as it was" in rows[0] and "Foretold for the depth reached" in panel.done.table.value
    )
    for name in DONE:
        panel.done.boxes[name].box.value = ""
    assert panel.done.text() == [] and not set(DONE) & set(panel.commission.typed)


@pytest.mark.parametrize("name", DONE)
def test_a_figure_that_cannot_be_meant_gets_a_sentence_and_stays(panel, name):
    do(panel, **{name: EVIL})
    box = panel.done.boxes[name]
    assert "role='alert'" in box.says.value and "<img" not in box.says.value
    assert box.box.value == EVIL and panel.done.text() == []


def test_words_of_the_day_reach_file_and_other_pages(panel, shop):
    other = Page(shop)
    do(panel, done_on="2027-03-27", done_notes=EVIL, **DONE)
    other.look()
    assert other.done.boxes["done_notes"].box.value == EVIL
    assert other.done.boxes["done_on"].box.value == "2027-03-27"
    assert other.done.text() == panel.done.text() != []
    other.done.boxes["done_time"].box.value = "90 min"
    panel.look()
    assert panel.done.boxes["done_time"].box.value == "90 min"


def test_what_was_noted_is_listed(panel):
    row = {"reading_time": "30 min", "reading_depth": "0.08 mm", "gauged_on": "finest line"}
    panel._take(panel.commission.with_row("reading", row))
    panel._take(
        panel.commission.with_row("reading", {"reading_time": "30 min", "weight_lost": "9 g"})
    )
    panel._take(panel.commission.with_row("wedge", {"test_exposure": "60 s", "held_step": "7"}))
    panel._take(panel.commission.with_row("blemish", {"blemish": EVIL, "place": "left"}))
    said = panel.done.noted.value
    assert "30 min: 0.08 mm, finest line" in said and "9 g of metal gone" in said
    assert "60 s held step 7" in said and "&lt;img" in said and "<img" not in said


def test_photographs_are_brought_seen_and_taken_from_the_list(panel, shop):
    upload(panel.done, "../../My plate.JPG", picture())
    assert panel.commission.words["photographs"] == "photograph-my-plate.jpg"
    assert (
        f"<img src='/files/commissions/{DEMO}/photograph-my-plate.jpg'" in panel.done.pictures.value
    )
    assert (shop.folder(DEMO) / "photograph-my-plate.jpg").read_bytes() == picture()
    upload(panel.done, "b.heic", b"b")
    assert panel.commission.words["photographs"].endswith(", photograph-b.heic")
    assert (
        "<img src='/files/commissions/rain-gauge-scale/photograph-b"
        not in panel.done.pictures.value
    )
    upload(panel.done, "b.heic", b"b")
    assert panel.commission.words["photographs"].count("photograph-b.heic") == 1
    for name, words in (("x.exe", "no photograph"), ("b.heic", "lies beside"), (f"{EVIL}.txt", "&lt;img")):  # fmt: skip
        upload(panel.done, name, b"other")
        assert words in panel.done.says.value and "<img" not in panel.done.says.value
    panel.done.back.click()
    assert panel.commission.words["photographs"] == "photograph-my-plate.jpg"
    assert (shop.folder(DEMO) / "photograph-b.heic").exists() and panel.done.says.value == ""


@pytest.mark.parametrize("name", ["../../current", EVIL, "gone.jpg", "..\\x.jpg"])
def test_a_name_that_leads_elsewhere_is_no_picture(panel, name):
    panel.choose(photographs=name)
    assert "role='alert'" in panel.done.pictures.value
    assert "<img" not in panel.done.pictures.value and "href" not in panel.done.pictures.value


# past jobs


def put(shop, name, title, **more):
    """Put an invented past job into the shop: a stored record with another title."""
    found = past.opened(STORED / "schema-3-reading.json")
    found |= {"title": title, "saved": more.get("saved", "2026-01-05")}
    found["typed"] |= {k: more[k] for k in ("done_time", "done_depth") if k in more}
    found["words"] |= {"title": title, "client": more.get("client", "")}
    folder = shop.root / "commissions" / name
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "record.json").write_text(keeping.text(found), encoding="utf-8")
    return folder


def test_the_search_finds_and_escapes(panel, shop):
    put(shop, "mill-line", f"Mill {EVIL}", client=EVIL)
    panel.past.show()
    assert "&lt;img" in panel.past.found.value and "<img" not in panel.past.found.value
    assert panel.past.text() == [f"Mill {EVIL}", "Rain gauge scale"]
    panel.past.search.box.value = "rain ORRIN"
    assert panel.past.text() == ["Rain gauge scale"] and panel.past.which.value == DEMO
    assert "Mill" not in panel.past.found.value
    panel.past.search.box.value = EVIL + "nothing"
    assert "No job is found" in panel.past.found.value and panel.past.text() == []
    assert all(panel.past.buttons[key].disabled for key in ("go", "worked", "again"))
    panel.past.buttons["go"].click()
    assert "No job is chosen" in panel.past.told.value


def test_a_folder_of_an_evil_name_leads_nowhere(panel, shop):
    put(shop, "a'><img src=x onerror=alert(1)>", "Odd")
    (shop.root / "commissions" / "a'><img src=x onerror=alert(1)>" / "record.html").write_text(
        "x", encoding="utf-8"
    )
    panel.past.show()
    assert "<img" not in panel.past.found.value
    assert "/commissions/a%27%3E%3Cimg%20src%3Dx" in panel.past.found.value
    panel.past.which.value = "a'><img src=x onerror=alert(1)>"
    for key in ("go", "worked", "again"):
        panel.past.buttons[key].click()
        assert "is no name of a commission" in panel.past.told.value
        assert "<img" not in panel.past.told.value


def test_go_to_it(panel, shop):
    begun = shop.begin("Tide table")
    panel.past.show()
    panel.past.which.value = begun
    panel.past.buttons["go"].click()
    assert panel.name == begun == shop.current and "“Tide table” lies open" in panel.past.told.value


def test_going_where_no_commission_lies_gets_a_sentence(panel, shop):
    put(shop, "record-alone", "Record alone")
    panel.past.show()
    panel.past.which.value = "record-alone"
    panel.past.buttons["go"].click()
    assert "role='alert'" in panel.past.told.value and panel.name == DEMO


def test_a_job_without_a_record(panel):
    panel.past.buttons["worked"].click()
    assert "no record yet" in panel.past.told.value


def test_worked_again_of_a_record(after, kept):
    after.past.buttons["worked"].click()
    assert "every figure the same" in after.past.told.value
    path = kept.folder(DEMO) / "record.json"
    record = json.loads(path.read_text("utf-8"))
    record["results"]["metal_removed"]["value"] *= 2
    path.write_text(keeping.text(record), encoding="utf-8")
    after.past.buttons["worked"].click()
    assert (
        "1 figure would differ" in after.past.told.value
        and "metal removed" in after.past.told.value
    )


@pytest.mark.parametrize("spoilt", [b"{", b'{"schema": 99}', b"[]"])
def test_a_record_that_cannot_be_read(after, kept, spoilt):
    (kept.folder(DEMO) / "record.json").write_bytes(spoilt)
    for key in ("worked", "again"):
        after.past.buttons[key].click()
        assert "role='alert'" in after.past.told.value
    after.past.show()
    assert "role='alert'" in after.past.found.value and kept.names == [DEMO]


@pytest.mark.parametrize("part", ["understood", "depth_against_time", "readings"])
def test_a_record_damaged_within(after, kept, part):
    path = kept.folder(DEMO) / "record.json"
    path.write_text(keeping.text(json.loads(path.read_text("utf-8")) | {part: [1]}), "utf-8")
    for key in ("worked", "again"):
        after.past.buttons[key].click()
        assert after.past.told.value  # a sentence, whichever of the two needs that part
    after.past.show()


def test_the_same_again(after, kept):
    after.past.buttons["again"].click()
    begun = f"{DEMO}-2"
    assert (
        after.name == begun == kept.current and "Nothing has changed since" in after.past.told.value
    )
    again = opened(kept.folder(begun) / "commission.toml")
    assert not set(DONE) & set(again.typed) and after.done.text() == []
    assert again.typed["temperature"] == "40 °C"  # as it was really done
    assert (kept.folder(begun) / "artwork.svg").read_bytes() == (kept.folder(DEMO) / "artwork.svg").read_bytes()  # fmt: skip
    assert "It took 1 h 35 min" in (kept.folder(begun) / "commission.toml").read_text("utf-8")
    after.past.buttons["again"].click()  # the one chosen is still the one done
    assert kept.names == [DEMO, begun, f"{DEMO}-3"]


def test_the_same_again_without_its_drawing_begins_nothing(after, kept):
    (kept.folder(DEMO) / "artwork.svg").unlink()
    after.past.buttons["again"].click()
    assert "does not lie beside the old job" in after.past.told.value
    assert kept.names == [DEMO] and after.name == DEMO


@pytest.mark.parametrize("name", ["../../x", "../../current", "/etc/passwd", EVIL])
def test_a_record_whose_drawing_leads_elsewhere_copies_nothing(after, kept, name):
    path = kept.folder(DEMO) / "record.json"
    record = json.loads(path.read_text("utf-8"))
    record["words"]["file"] = name
    path.write_text(keeping.text(record), encoding="utf-8")
    kept.choose(DEMO)  # so that there is a file “current” to lead to
    before = sorted(p for p in kept.root.rglob("*") if ".measured" not in p.parts)
    after.past.buttons["again"].click()
    assert "role='alert'" in after.past.told.value and "<img" not in after.past.told.value
    now = sorted(p for p in kept.root.rglob("*") if ".measured" not in p.parts)
    assert now == before and kept.names == [DEMO]


def test_how_good_the_forecasts_were(panel, shop):
    assert NONE_JUDGED in panel.past.picture.value
    foretold = memory.jobs(put(shop, "tide", "Tide $x_1$ <b>&").parents[1])
    _, middle, late = next(j.foretold for j in foretold if j.name == "tide")
    put(shop, "mill", "Mill", done_time=f"{middle} min", saved="2026-02-01")
    put(shop, "tide", "Tide $x_1$ <b>&", done_time=f"{late * 2} min")
    panel.past.draw()
    svg = panel.past.picture.value
    assert "1 of 2 jobs within the range foretold" in svg
    words = [e.text for e in ET.fromstring(svg[svg.index("<svg") :]).iter(f"{SVG}text")]
    assert "Tide $x_1$ <b>&" in words and "<b>" not in svg
    panel.past.search.box.value = "mill"
    panel.past.draw()
    assert "1 of 1 jobs" in panel.past.picture.value


def test_the_dot_of_a_forecast_stands_where_it_was():
    rows = [
        {"title": "漢 one", "early": 50, "middle": 100, "late": 200, "share": 1.5, "within": True},
        {"title": "two" * 30, "early": 90, "middle": 100, "late": 110, "share": 0.5, "within": False},
    ]  # fmt: skip
    svg = figures.past_forecasts(rows)
    drawn = ET.fromstring(svg)
    paths = [p for p in drawn.iter(f"{SVG}path") if "stroke-width: 7" in p.get("style", "")]
    bars = [[float(x) for x in re.findall(r"[ML] ([\d.]+) ", p.get("d"))] for p in paths]
    marks = [use for g in drawn.iter(f"{SVG}g") if g.get("clip-path") for use in g]
    dots = [(float(m.get("x")), "fill-opacity: 0" not in m.get("style")) for m in marks]
    (low, high), (narrow, wide) = bars
    assert (high - low) / (wide - narrow) == pytest.approx(1.5 / 0.2, rel=1e-3)
    at = [low + (high - low) * (row["share"] - 0.5) / 1.5 for row in rows]
    assert dots == [(pytest.approx(at[0], abs=0.01), True), (pytest.approx(at[1], abs=0.01), False)]
    assert "two" * 10 not in svg and "…" in svg


def test_baths_and_lessons_are_read_and_their_faults_told(panel, shop):
    (shop.root / "baths").mkdir()
    (shop.root / "baths" / "a.toml").write_text(f'name = "{EVIL}"\nmixed = "2026-02-01"\nstrength = "500 g/L"\nvolume = "3 L"\n', "utf-8")  # fmt: skip
    (shop.root / "baths" / "b.toml").write_text("name = ", "utf-8")
    (shop.root / "corrections.toml").write_text(
        '[[correction]]\ncommission = "tide"\ndate = "2026-02-01"\ntray = "polypropylene 330 × 250 mm"\n'
        'moved = "tilted by hand"\nlies = "face down"\nmetal = "brass"\nline = "0.4 mm"\nrate = 1.12\n'
        "rate_spread = 0.08\nreadings = 3\n", "utf-8",
    )  # fmt: skip
    panel.past.show()
    said = panel.past.baths.body.value
    assert "made up, 3 L of 500 g/L" in said and "b.toml" in said and "<img" not in said
    assert "1.12 times the rate worked out, by 3 readings" in panel.past.lessons.body.value
    (shop.root / "corrections.toml").write_text("[[correction]]\n", "utf-8")
    panel.past.show()
    assert "role='alert'" in panel.past.lessons.body.value


def test_figures_and_history_for_a_spreadsheet(panel, shop):
    panel.choose(title="=1+1")
    for key, path in (("figures", shop.folder(DEMO) / "figures.csv"), ("history", shop.root / "history.csv")):  # fmt: skip
        panel.past.buttons[key].click()
        assert "href='/files/" in panel.past.all.value and path.name in panel.past.all.value
        rows = list(csv.reader(path.read_text("utf-8-sig").splitlines()))
        assert any("'=1+1" in row for row in rows)


def test_the_shop_is_backed_up_and_brought_back_beside_it(panel, shop, tmp_path):
    made(panel, "labels")
    panel.past.buttons["pack"].click()
    said = panel.past.all.value
    path = shop.root / re.search(r"/files/(backups/shop-\d{4}-\d\d-\d\d\.zip)", said)[1]
    with zipfile.ZipFile(path) as file:
        names = file.namelist()
    assert f"commissions/{DEMO}/papers/labels.html" in names and path.name not in str(names)
    upload(panel.past, "../../evil.zip", path.read_bytes())
    back = tmp_path / "shop-brought-back"
    assert str(back) in panel.past.all.value and "etchcalc open --shop" in panel.past.all.value
    there = Shop(back).open(DEMO)
    assert (there.typed, there.words) == (panel.commission.typed, panel.commission.words)
    upload(panel.past, "again.zip", path.read_bytes())
    assert (tmp_path / "shop-brought-back-2").is_dir()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["shop", "shop-brought-back", "shop-brought-back-2"]  # fmt: skip


def test_a_backup_that_is_none_is_refused(panel, tmp_path):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as bad:
        bad.writestr("../../x", "x")
    for name, content in ((f"{EVIL}.zip", b"no zip"), ("", b""), ("x.zip", file.getvalue())):
        upload(panel.past, name, content)
        assert "role='alert'" in panel.past.all.value and "<img" not in panel.past.all.value
    assert [p.name for p in tmp_path.iterdir()] == ["shop"]


def test_two_pages_in_step(after, kept):
    other = Page(kept)
    after.past.buttons["again"].click()
    other.look()
    assert other.name == after.name and other.past.text() == after.past.text()
    assert other.papers.text() == after.papers.text()
