"""The film as a maker meets it: the depth slid, a drawing brought, its size asked, the film written."""

import io

import numpy as np
import pytest
from PIL import Image

LIVE_WITHIN = 60_000  # ms; a loaded machine is slow
SENTENCE = ".etch-film .etch-sentence"
PLATE = ".etch-svg.etch-marked"
SMALL = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">'
    '<path d="M2 2h20v.5h-20z"/></svg>'
)


@pytest.fixture
def film(page, live_server):
    page.goto(live_server.page_address("2-film.ipynb"))
    page.wait_for_selector(f"{PLATE} image", timeout=LIVE_WITHIN)
    return page


def changes(page, before, selector):
    page.wait_for_function(
        "([s, b]) => { const n = document.querySelector(s); return n && n.innerHTML !== b; }",
        arg=[selector, before],
        timeout=20_000,
    )


def says(page, text, selector=".etch-film", within=30_000):
    page.wait_for_function(
        "([s, t]) => document.querySelector(s).textContent.includes(t)",
        arg=[selector, text],
        timeout=within,
    )


def bring(page, path):
    with page.expect_file_chooser() as chosen:
        page.locator(".etch-upload-drawing").click()
    chosen.value.set_files(str(path))


def test_depth_moves_film_and_plate_together(film, outside_requests, console_errors):
    before = film.locator(PLATE).inner_html()
    handle = film.locator(".etch-slider .noUi-handle").first
    handle.focus()
    for _ in range(10):
        handle.press("ArrowRight")
    changes(film, before, PLATE)
    says(film, "lines vanish", SENTENCE + " ~ .etch-advice")
    film.locator("summary", has_text="What the undercut loses").click()
    says(film, "line vanishes at")
    film.wait_for_selector(".etch-svg.etch-close image", timeout=20_000)
    assert outside_requests(film) == [] and console_errors(film) == []


def test_a_drawing_of_another_size_is_asked_about(film, tmp_path, live_server, console_errors):
    path = tmp_path / "small.svg"
    path.write_text(SMALL)
    bring(film, path)
    says(film, "30 × 20 mm")
    film.get_by_role("button", name="cut from the middle").click()
    film.wait_for_function("() => !document.querySelector('.etch-saved b')", timeout=20_000)
    says(film, "SVG, 30.00 × 20.00 mm")
    film.get_by_role("button", name="Write the film").click()
    says(film, "film.pdf")
    link = film.locator("a", has_text="film.tif").get_attribute("href")
    got = film.evaluate(
        "async href => { const r = await fetch(href); return [r.status, (await r.arrayBuffer()).byteLength]; }",
        link,
    )
    (shop,) = live_server.shop.glob("commissions/*/film.tif")
    assert got == [200, shop.stat().st_size]
    assert console_errors(film) == []


def test_a_film_larger_than_ten_megabytes_is_brought(film, tmp_path, live_server):
    noise = np.random.default_rng(1).integers(0, 2, (5600, 20000), dtype=np.uint8).astype(bool)
    out = io.BytesIO()
    Image.fromarray(noise).save(out, "TIFF", dpi=(1200, 1200))
    path = tmp_path / "noise.tif"
    path.write_bytes(out.getvalue())
    assert path.stat().st_size > 12_000_000
    bring(film, path)
    # it arrives, and is asked about like any other: it is of another size
    says(film, "423", ".etch-film", within=120_000)
    assert (
        next(live_server.shop.glob("commissions/*/noise.tif")).stat().st_size == path.stat().st_size
    )
