"""A lesson as an apprentice meets it: slid, answered, kept."""

import pytest

LIVE_WITHIN = 60_000  # ms; a loaded machine is slow


@pytest.fixture
def lesson(page, live_server):
    page.goto(live_server.page_address("lessons/closing-counter.ipynb"))
    page.wait_for_selector(".etch-lesson .noUi-handle", timeout=LIVE_WITHIN)
    page.wait_for_selector(".etch-lesson-says", timeout=LIVE_WITHIN)
    return page


def answered(page, place, text):
    box = page.locator(f".etch-in-answer-{place} input")
    box.fill(text)
    box.press("Enter")
    said = page.locator(f".etch-verdict-{place} p")
    said.wait_for(timeout=20_000)
    return said.text_content()


def test_a_slider_closes_the_counter(lesson, outside_requests, console_errors):
    grown = lesson.locator(".etch-grown").get_attribute("stroke-width")
    lesson.locator(".etch-lesson .noUi-handle").first.focus()
    for _ in range(6):
        lesson.keyboard.press("ArrowRight")
    lesson.wait_for_function(
        "before => document.querySelector('.etch-grown').getAttribute('stroke-width') > before"
        " && document.querySelector('.etch-lesson-says').textContent.includes('Lost now: line')",
        arg=grown,
        timeout=20_000,
    )
    assert outside_requests(lesson) == [] and console_errors(lesson) == []


def test_another_lesson_opens_in_the_same_plain_view(lesson, outside_requests):
    lesson.get_by_role("link", name="The used bath").first.click()
    lesson.wait_for_url("**/doc/tree/workbooks/lessons/used-bath.ipynb*", timeout=LIVE_WITHIN)
    lesson.wait_for_selector(".etch-lesson-says", timeout=LIVE_WITHIN)
    assert "Lesson 5" in lesson.locator(".etch-lesson .etch-title").text_content()
    assert lesson.locator("#jp-top-panel:visible, .jp-SideBar:visible").count() == 0
    assert outside_requests(lesson) == []


def test_a_slip_gets_its_hint_and_the_right_answer_its_praise(lesson):
    # 0.8 mm less twice 0.2 / 1.3; and less it once
    assert "Both edges undercut" in answered(lesson, 1, "0.646 mm")
    box = lesson.locator(".etch-in-answer-1 input")
    box.fill("19.4 thou")
    box.press("Enter")
    lesson.wait_for_selector(".etch-verdict-1 .etch-right", timeout=20_000)
    assert "0 of 5 right at the first answer" in lesson.locator(".etch-lesson-score").text_content()


def test_a_score_is_kept_under_a_name_that_does_nothing(lesson, live_server, console_errors):
    for place in range(1, 6):
        answered(lesson, place, "0.001 mm")
    name = lesson.locator(".etch-in-who input")
    name.fill("<img src=x onerror=alert(1)>")
    name.press("Enter")
    lesson.get_by_role("button", name="Keep the score").click()
    lesson.wait_for_function(
        "document.querySelector('.etch-lesson .etch-saved').textContent.includes('Kept for <img')",
        timeout=20_000,
    )
    assert lesson.locator(".etch-lesson img").count() == 0 and console_errors(lesson) == []
    assert "onerror" in (live_server.shop / "progress.toml").read_text(encoding="utf-8")
