"""The shop's memory: found again by any word, the index made anew from the folders at any time."""

import json
from pathlib import Path

import pytest

from etchcalc.core.faults import BadInput
from etchcalc.job import keeping, memory, past
from etchcalc.job.memory import find, jobs
from etchcalc.job.shop import Shop, folder_name

STORED = Path(__file__).parents[1] / "records"


def put(root, title, client="", **more):
    """Put an invented job into a shop: a stored record with another title, and what was done."""
    found = past.opened(STORED / "schema-3-drawing.json")
    typed = {k: v for k, v in more.items() if k in ("done_time", "done_depth")}
    found |= {"title": title, "saved": more.get("saved", "2026-01-05")}
    found["typed"] |= typed
    found["words"] |= {"title": title, "client": client, "notes": more.get("notes", "")}
    found["metal"] = {"key": more.get("metal", "CW508L"), "name": ""}
    folder = root / "commissions" / folder_name(title)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "record.json").write_text(keeping.text(found), encoding="utf-8")
    return folder


@pytest.fixture
def shop(tmp_path):
    put(
        tmp_path, "Tide table", "Zoë Marsh (invented)", saved="2025-11-30", notes="slow in the cold"
    )
    put(tmp_path, "Mill line", "Ada Fenwick (invented)", saved="2026-02-01", metal="CW024A")
    put(tmp_path, "Bell plate", "Zoë Marsh (invented)", saved="2026-02-20")
    return tmp_path


def titles(found):
    return [job.title for job in found]


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [({}, ["Bell plate", "Mill line", "Tide table"]), ({"client": "zoe marsh"}, ["Bell plate", "Tide table"]),
     ({"title": "LINE"}, ["Mill line"]), ({"alloy": "copper"}, ["Mill line"]),
     ({"tray": "polypropylene 330"}, ["Bell plate", "Mill line", "Tide table"]),
     ({"text": "cold slow"}, ["Tide table"]), ({"text": "cold fast"}, []),
     ({"since": "2026"}, ["Bell plate", "Mill line"]), ({"until": "2026-02-01"}, ["Mill line", "Tide table"]),
     ({"since": "2026-02", "until": "2026-02-10"}, ["Mill line"]), ({"text": "zoë", "since": "2026-01"}, ["Bell plate"])],
)  # fmt: skip
def test_found_by(shop, asked, wanted):
    assert titles(find(jobs(shop), **asked)) == wanted


def test_no_date(shop):
    with pytest.raises(BadInput, match="is not a date"):
        find(jobs(shop), since="last week")


def test_the_index_may_be_thrown_away_and_follows_the_folders(shop):
    index = Shop(shop).cache / memory.INDEX
    once = jobs(shop)
    index.unlink()
    assert jobs(shop) == once
    for broken in (b"", b"{}", b"[1]", b'{"shape": 1, "package": "0.1.0", "jobs": {"x": {"job": {}}}}'):  # fmt: skip
        index.write_bytes(broken)
        assert jobs(shop) == once
    put(shop, "Tide table", "Another (invented)")
    assert titles(find(jobs(shop), client="another")) == ["Tide table"]
    (shop / "commissions" / "mill-line" / "record.json").unlink()
    assert titles(jobs(shop)) == ["Bell plate", "Tide table"]


def test_what_did_not_change_is_not_read_again(shop, monkeypatch):
    once = jobs(shop)
    monkeypatch.setattr(past, "opened", None)
    assert jobs(shop) == once


def test_a_commission_never_saved_is_found_too(shop, order):
    Shop(shop).folder("ordered").mkdir()
    (shop / "commissions" / "ordered" / "commission.toml").write_text(order, encoding="utf-8")
    (found,) = find(jobs(shop), "15 %", title="tide table", alloy="brass")
    assert (found.name, found.version, found.date) == ("ordered", 0, "")


@pytest.mark.parametrize("content", [b"{half", b'{"schema": 99}', b'{"schema": 3}'])
def test_a_broken_record_is_a_sentence_and_the_others_are_found(shop, content):
    (shop / "commissions" / "mill-line" / "record.json").write_bytes(content)
    found = jobs(shop)
    assert len(found) == 3
    (broken,) = [job for job in found if job.fault]
    assert broken.name == "mill-line" and "record.json" in broken.fault


def test_no_shop_yet(tmp_path):
    assert jobs(tmp_path / "nothing") == []


def test_how_good_past_forecasts_were(shop):
    folder = put(shop, "Gauge", done_time="2 h", done_depth="0.2 mm", saved="2024-01-01")
    (row,) = memory.forecasts(jobs(shop))
    curve = json.loads((folder / "record.json").read_bytes())["depth_against_time"]
    # the curve's own points beside the depth that was reached
    after = next(i for i, d in enumerate(curve["depth"]) if d >= 0.2)
    assert curve["middle"][after - 1] <= row["middle"] <= curve["middle"][after]
    assert row["took"] == 120 and row["share"] == pytest.approx(120 / row["middle"])
    assert row["within"] == (row["early"] <= 120 <= row["late"])
