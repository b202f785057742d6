"""Papers to print: whole in themselves, in true size, with what they must say."""

import base64
import re
from html import unescape
from html.parser import HTMLParser

import pytest

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity
from etchcalc.job import commission_file
from etchcalc.job.drawing import Drawing
from etchcalc.job.plan import planned
from etchcalc.pages import papers

TEXT = """
[commission]
title = "Tide table"
client = "Invented Harbour"
[plate]
metal = "brass"
plate_width = "120 mm"
plate_height = "45 mm"
[lines]
finest_line = "0.4 mm"
depth = "0.2 mm"
"""
# an invented quotation
QUOTED = {
    "client": "Invented Harbour", "title": "Tide table", "lines": [("Plates", "3", "90.00")],
    "net": "90.00", "tax": "18.00", "gross": "108.00", "valid_until": "2026-12-31",
    "assumptions": ["The artwork is as sent."],
}  # fmt: skip
MORE = {"quotation": {"quotation": QUOTED}}
PIXEL = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR4nGNgYGBgAAAABQABpfZFQAAAAABJRU5ErkJggg=="
)


@pytest.fixture(scope="module")
def order():
    return commission_file.parsed(TEXT)


@pytest.fixture(scope="module")
def plan(order):
    return planned(order)


class Page(HTMLParser):
    """The tags of a page with their attributes, and whether every one is closed."""

    VOID = ("meta", "img", "br")

    def __init__(self, html):
        super().__init__()
        self.tags, self.open, self.words = [], [], []
        self.feed(html)
        assert not self.open

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)

    def having(self, name):
        return [a for _, a in self.tags if name in (a.get("class") or "").split()]


def text(html):
    return " ".join(unescape(re.sub(r"<[^>]+>", "", html.split("</style>")[1])).split())


@pytest.mark.parametrize("size", papers.SIZES)
@pytest.mark.parametrize("kind", papers.NAMES)
def test_a_paper_is_whole_in_itself(plan, kind, size):
    html = papers.paper(kind, plan, paper=size, **MORE.get(kind, {}))
    page = Page(html)
    assert f"@page {{ size: {size};" in html
    for tag, attributes in page.tags:
        assert tag not in ("script", "link", "iframe", "object", "form")
        assert (attributes.get("src") or "data:").startswith("data:")
        assert "href" not in attributes and not any(name.startswith("on") for name in attributes)
    assert "url(" not in html and "@import" not in html
    sizes = [float(size) for size in re.findall(r"font(?:-size)?: ([\d.]+)pt", html)]
    assert sizes and min(sizes) >= 9


@pytest.mark.parametrize("kind", papers.NAMES)
@pytest.mark.parametrize("typed", ["<script>alert(1)</script>", "'\"><img src=x onerror=alert(1)>"])
def test_what_was_typed_does_nothing(order, kind, typed):
    bad = dict.fromkeys(("client", "title"), typed)
    more = {"shop": typed, "date": typed}
    if kind == "quotation":
        told = {k: typed for k in QUOTED if k not in ("lines", "assumptions")}
        more["quotation"] = {**told, "lines": [(typed,) * 3], "assumptions": [typed]}
    if kind == "film_order":
        more |= {"file_name": typed, "digest": typed}
    if kind == "proof":
        more["price"] = typed
    html = papers.paper(kind, planned(order.changed(**bad)), **more)
    page = Page(html)
    assert not [tag for tag, _ in page.tags if tag in ("script", "img")]
    assert typed in unescape(html)


def label_of(html, number=0):
    return text("</style>" + html.split('<section class="label')[number + 1])


def test_labels_are_a6_four_to_an_a4(plan):
    # ISO 216: A6 is 105 × 148 mm, A4 210 × 297 mm
    html = papers.paper("labels", plan)
    assert re.search(r"\.label \{ width: 105mm; height: 148mm;", html)
    page = Page(html)
    assert len(page.having("label")) == 4 and len(page.having("sheet")) == 1
    letter = Page(papers.paper("labels", plan, paper="Letter"))
    assert len(letter.having("label")) == 4 and len(letter.having("sheet")) == 2


def test_a_label_says_what_is_in_the_bottle(plan):
    html = papers.paper("labels", plan, which=("spent",), shop="Invented Works", date="2026-03-04")
    words = label_of(html)
    for part in (
        "Spent ferric chloride etchant", "Invented Works", "2026-03-04", "500 g/L", "copper", "zinc",
        "Danger", "H290 May be corrosive to metals.", "H314 Causes severe skin burns and eye damage.",
        "H410 Very toxic to aquatic life with long lasting effects.", "never down a drain",
        "Never an old label: cover or strip what stood on the bottle.",
    ):  # fmt: skip
        assert part in words.replace("\xa0", " ")
    assert "lead" not in words and "nickel" not in words


def test_leaded_brass_names_its_lead(order):
    leaded = planned(order.changed(metal="leaded brass"))
    words = label_of(papers.paper("labels", leaded)).replace("\xa0", " ")
    assert re.search(r"lead 0\.\d+ g/L", words)
    assert "H360Df May damage the unborn child." in words
    assert "H373* " in words and "recalled: check" in words
    carrier = papers.paper("carrier", leaded)
    assert "<td>lead</td>" in carrier and "(lead(II) chloride)" in text(carrier)


def test_a_good_bath_is_not_called_spent(plan, order):
    assert "Used ferric chloride etchant" in papers.paper("labels", plan)
    spent = planned(order.changed(practical_stop="5 %", open_fraction="90 %", depth="0.4 mm"))
    assert "Spent ferric chloride etchant" in papers.paper("labels", spent)


def test_the_carriers_sheet(plan):
    html = papers.paper("carrier", plan)
    words = text(html)
    for part in ("iron", "chloride", "water", "copper", "zinc"):
        assert f"<td>{part}</td>" in html
    for part in (
        "Local codes and licensed practice come first", "not analysed", "strongly acid by itself",
        "no acid was added", "First rinse", "Stripped film", "UN 2582", "recalled",
        "never a step of the day's work", "carbon dioxide", "dry hydroxides", "handed over as it is",
    ):  # fmt: skip
        assert part in words
    assert not re.search(r"\b(pour|drain|flush|dilute|tip away|sewer)\b", words, re.IGNORECASE)
    # the soda stands nowhere but in the explanation
    assert "soda" not in text(html.split('<div class="aside">')[0])
    assert "hydrochloric acid was added" in text(papers.paper("carrier", plan, acid_added=True))


def drawn(order, **changes):
    drawing = Drawing(
        Quantity(600, "mm^2"), Quantity(0.11, ""), Quantity(0.25, "mm"), Quantity(0.5, "mm"),
        preview=PIXEL,
    )  # fmt: skip
    return planned(order.changed(**changes) if changes else order, drawing)


@pytest.mark.parametrize(("width", "height"), [("120 mm", "45 mm"), ("4 1/2 in", "63.5 mm")])
def test_the_proof_is_in_true_size(order, width, height):
    html = papers.paper("proof", drawn(order, plate_width=width, plate_height=height))
    # an inch is 25.4 mm
    wide, high = ("120", "45") if width == "120 mm" else ("114.3", "63.5")
    assert f".true img {{ display: block; width: {wide}mm; height: {high}mm;" in html
    image = next(a for tag, a in Page(html).tags if tag == "img")
    assert base64.b64decode(image["src"].partition("base64,")[2]) == PIXEL
    assert "in true size" in text(html) and "100 mm" in text(html)
    assert '<svg class="bar" viewBox="0 0 100 7"' in html and "width: 100mm;" in html


def test_a_wide_plate_turns_the_paper_and_a_large_one_is_said_to_be_smaller(order):
    wide = papers.paper("proof", drawn(order, plate_width="250 mm"))
    assert "@page { size: A4 landscape;" in wide and "width: 250mm" in wide
    large = papers.paper("proof", drawn(order, plate_width="300 mm", plate_height="250 mm"))
    assert "drawn at 1 : 2, not in true size" in text(large) and "width: 150mm" in large


def test_a_price_stands_on_the_proof_only_where_it_is_given(plan):
    assert "Price" not in papers.paper("proof", plan)
    assert "108.00" in papers.paper("proof", plan, price="108.00")
    words = text(papers.paper("proof", plan))
    for part in ("Spelling", "Colour of the fill", "For the client", "CuZn37", "120 mm × 45 mm"):
        assert part in words


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"black": "etched"}, "what is etched; clear is metal that is kept"),
        ({"black": "kept"}, "metal that is kept; clear is what is etched"),
        ({"emulsion": "up"}, "emulsion towards you"),
        ({"emulsion": "down"}, "emulsion away from you. The file is mirrored for that already"),
        ({"film_resolution": "2400 dpi"}, "2400 dpi or more"),
        ({"shows": "finished plate"}, "corrected for the etch already"),
    ],
)
def test_the_film_is_ordered_in_words(order, said, words):
    html = papers.paper("film_order", planned(order.changed(**said)))
    assert words in text(html)
    for part in ("right-reading", "true size", "never fitted", "register marks", "film.tif"):
        assert part in text(html)


def test_the_film_is_ordered_with_its_file_and_its_finest_line(order, plan):
    digest = "0123456789abcdef" * 4
    html = text(papers.paper("film_order", plan, films=2, digest=digest, sheet=(190.0, 115.0)))
    assert digest in html and "2, of one file" in html and "190.0 mm × 115.0 mm" in html
    as_it_is = drawn(order, shows="film as it is")
    assert "0.25 mm wide" in text(papers.paper("film_order", as_it_is))


def test_a_quotation_says_what_it_was_given(plan):
    words = text(papers.paper("quotation", plan, quotation=QUOTED))
    for part in ("Invented Harbour", "Plates", "90.00", "18.00", "108.00", "2026-12-31", "as sent"):
        assert part in words
    assert "Tax" not in text(papers.paper("quotation", plan, quotation={**QUOTED, "tax": ""}))


def test_an_unknown_paper_or_size(plan):
    with pytest.raises(BadInput, match="“poster” is no paper that is printed here; say labels,"):
        papers.paper("poster", plan)
    with pytest.raises(BadInput, match="“A3” is no size of paper here; say A4 or Letter"):
        papers.paper("proof", plan, paper="A3")
