"""The shop's folder: saved whole or not at all, and under names that are safe."""

import errno
import os
import subprocess
import sys
from zoneinfo import ZoneInfoNotFoundError

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.job import clocks
from etchcalc.job.files import write_whole
from etchcalc.job.shop import DEMO, Shop, demo_files, folder_name, shop_folder

TRIED = settings(deadline=None, derandomize=True, max_examples=200)
# names that Windows keeps for itself (Microsoft, "Naming files, paths, and namespaces")
RESERVED = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10))}


def full(*_args, **_kwargs):
    raise OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize("broken", ["replace", "fsync", "open"])
def test_a_failing_save_leaves_the_old_file_whole(tmp_path, monkeypatch, broken):
    path = tmp_path / "commission.toml"
    write_whole(path, b"old")
    if broken == "open":
        monkeypatch.setattr("tempfile.mkstemp", full)
    else:
        monkeypatch.setattr(os, broken, full)
    with pytest.raises(BadInput) as fault:
        write_whole(path, b"new, and longer")
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["commission.toml"]
    assert "commission.toml could not be saved" in str(fault.value)
    assert "No space left on device" in str(fault.value)
    assert "what was there is unchanged" in str(fault.value)


def test_a_save_is_whole(tmp_path):
    path = tmp_path / "deep" / "er" / "commission.toml"
    for content in (b"one", b"two" * 100000, b""):
        write_whole(path, content)
        assert path.read_bytes() == content
    assert [p.name for p in path.parent.iterdir()] == ["commission.toml"]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such rights")
def test_a_saved_file_has_ordinary_rights(tmp_path):
    path = tmp_path / "a"
    write_whole(path, b"x")
    (tmp_path / "b").write_bytes(b"x")
    assert path.stat().st_mode == (tmp_path / "b").stat().st_mode


def test_a_folder_that_cannot_be_made(tmp_path):
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(BadInput, match="could not be saved"):
        write_whole(tmp_path / "file" / "commission.toml", b"x")


# names


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Tide table", "tide-table"),
        ("<script>alert(1)</script>", "script-alert-1-script"),
        ("../../x", "x"),
        ("..", "commission"),
        ("", "commission"),
        ("🕰️", "commission"),
        ("🕰️ Uhr", "uhr"),
        ("Zoë’s Dial №2", "zoes-dial-no2"),
        ("C:\\Windows", "c-windows"),
        ("a" * 300, "a" * 60),
        (".hidden", "hidden"),
        ("-rf", "rf"),
        ("line\nbreak\0nul", "line-break-nul"),
    ],
)
def test_folder_names(title, name):
    assert folder_name(title) == name


@TRIED
@given(
    st.text(max_size=300)
    | st.integers(50, 70).map(lambda n: "a" * n + " dial of the tower")  # cut near the blank
)
def test_a_folder_name_is_safe_and_its_own_name(title):
    name = folder_name(title)
    assert name and len(name) <= 60
    assert set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert not name.startswith("-") and not name.endswith("-")
    assert folder_name(name) == name


@pytest.mark.parametrize("title", ["CON", "Aux", "nul", "com1", "LPT9"])
def test_names_that_windows_keeps_for_itself(title):
    # most makers have a Windows laptop
    assert folder_name(title) not in RESERVED


# the shop


def test_which_folder(monkeypatch, tmp_path):
    monkeypatch.setenv("ETCHCALC_SHOP", str(tmp_path / "env"))
    assert shop_folder("said").name == "said"
    assert shop_folder() == tmp_path / "env"
    monkeypatch.delenv("ETCHCALC_SHOP")
    assert shop_folder().name == "etchcalc"


def test_a_new_shop_opens_on_the_demo(tmp_path):
    shop = Shop(tmp_path / "shop")
    assert shop.names == []
    assert shop.current == DEMO
    assert shop.names == [DEMO]
    assert shop.open().words["invented"] == "yes"
    for name, content in demo_files().items():
        assert (shop.folder(DEMO) / name).read_bytes() == content


def test_a_page_that_opens_meanwhile_finds_the_whole_demo_or_none(tmp_path, monkeypatch):
    shop, seen = Shop(tmp_path), []

    def written(path, content):
        write_whole(path, content)
        if shop.names:
            seen.append(sorted(file.name for file in shop.folder(DEMO).iterdir()))

    monkeypatch.setattr("etchcalc.job.shop.write_whole", written)
    shop.add_demo()
    assert seen == [sorted(demo_files())]


def test_a_commission_is_kept_with_its_remarks(tmp_path, commission, order):
    shop = Shop(tmp_path)
    path = shop.folder("tide-table") / "commission.toml"
    write_whole(path, order.encode())
    shop.choose("tide-table")
    assert shop.current == "tide-table"
    shop.keep(shop.open().with_one("depth", "0.18 mm"), "tide-table")
    text = path.read_text(encoding="utf-8")
    assert 'depth = "0.18 mm"' in text and "# measured twice" in text
    assert shop.open("tide-table").typed["depth"] == "0.18 mm"


@pytest.mark.parametrize("name", ["../x", "/etc", "A", "a b", "", ".."])
def test_a_name_that_leads_elsewhere(tmp_path, name):
    with pytest.raises(BadInput, match="is no name of a commission"):
        Shop(tmp_path).folder(name)


@pytest.mark.parametrize("written", ["../../etc", "gone", "", "\0"])
def test_a_current_that_is_not_there_falls_back(tmp_path, written):
    (tmp_path / "current").write_text(written, encoding="utf-8")
    assert Shop(tmp_path).current == DEMO


def test_a_current_that_is_not_text_falls_back(tmp_path):
    (tmp_path / "current").write_bytes(b"\xff\xfe\xff")
    assert Shop(tmp_path).current == DEMO


# the time zone of a new job


@pytest.fixture
def in_new_york(monkeypatch):
    monkeypatch.setattr(clocks, "own_zone", lambda: "America/New_York")


def test_a_new_job_says_the_computer_s_zone_and_the_demo_stays(tmp_path, in_new_york):
    shop = Shop(tmp_path)
    shop.add_demo()
    demo = (shop.folder(DEMO) / "commission.toml").read_bytes()
    assert shop.open(shop.begin("Tide table")).words["zone"] == "America/New_York"
    assert (shop.folder(DEMO) / "commission.toml").read_bytes() == demo


def test_a_zone_that_the_shop_has_said_stays(tmp_path, in_new_york):
    shop = Shop(tmp_path)
    shop.choose(shop.begin("Tide table"))
    shop.keep(shop.open().changed(zone="Asia/Kolkata"), shop.current)
    assert shop.open(shop.begin("Door plate")).words["zone"] == "Asia/Kolkata"


def test_a_zone_that_cannot_be_told_stays_unsaid(tmp_path, monkeypatch):
    monkeypatch.setattr(clocks, "own_zone", lambda: "")
    shop = Shop(tmp_path)
    name = shop.begin("Tide table")
    assert shop.open(name).words["zone"] == ""
    assert "zone" not in (shop.folder(name) / "commission.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("answer", [None, "", "EST5EDT,M3.2.0,M11.1.0", "Atlantis"])
def test_no_zone_where_its_name_is_none(monkeypatch, answer):
    monkeypatch.setattr(clocks.tzlocal, "get_localzone_name", lambda: answer)
    assert clocks.own_zone() == ""


def test_two_settings_that_contradict_tell_no_zone(monkeypatch):
    def contradict():
        raise ZoneInfoNotFoundError("Multiple conflicting time zone configurations found")

    monkeypatch.setattr(clocks.tzlocal, "get_localzone_name", contradict)
    assert clocks.own_zone() == ""


@pytest.mark.skipif(os.name == "nt", reason="Windows does not go by TZ")
@pytest.mark.parametrize(
    ("said", "zone"),
    [("America/New_York", "America/New_York"), ("Asia/Kolkata", "Asia/Kolkata"), ("XYZ-3:13", "")],
)
def test_the_computer_s_zone_as_it_is_set(said, zone):
    told = subprocess.run(
        [sys.executable, "-c", "from etchcalc.job.clocks import own_zone; print(own_zone())"],
        env={**os.environ, "TZ": said}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert told.stdout.strip() == zone
