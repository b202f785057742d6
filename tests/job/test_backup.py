"""The shop as a zip and back, and tables for a spreadsheet: nothing is lost, nothing runs."""

import csv
import io
import json
import stat
import zipfile

import pytest

from etchcalc.core.faults import BadInput
from etchcalc.job import keeping, past, record
from etchcalc.job.backup import differing, figures_csv, history_csv, packed, safe, unpacked
from etchcalc.job.memory import Job, jobs
from etchcalc.job.plan import planned
from etchcalc.job.shop import Shop, folder_name
from etchcalc.pages import sheet

HARD = ["<script>alert(1)</script>", "../../x", "🕰️", "a" * 300, "", "=cmd|' /C calc'!A0", "@SUM(1)", "-1+2", "\t=1"]  # fmt: skip


@pytest.fixture
def shop(tmp_path):
    root = tmp_path / "shop"
    Shop(root).add_demo()
    keeping.keep(Shop(root).folder("rain-gauge-scale"), {"schema": 4, "words": {}}, "page")
    (root / "shelf.toml").write_text("# mine\n", encoding="utf-8")
    Shop(root).cache.mkdir()
    (Shop(root).cache / "x.json").write_bytes(b"{}")
    return root


def contents(root):
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in root.rglob("*") if p.is_file()}


# out and in


def test_the_whole_shop_goes_out_and_comes_back(shop, tmp_path):
    target = shop / "backup.zip"  # in the shop itself: it does not swallow itself
    (shop / "commissions" / "rain-gauge-scale" / ".record.json.abcdefgh").write_bytes(b"left")
    assert packed(shop, target) == packed(shop, target)
    count = unpacked(target, tmp_path / "new")
    back = contents(tmp_path / "new")
    gone = {".measured/x.json", "backup.zip", "commissions/rain-gauge-scale/.lock",
            "commissions/rain-gauge-scale/.record.json.abcdefgh"}  # fmt: skip
    assert back == {k: v for k, v in contents(shop).items() if k not in gone}
    assert count == len(back)
    assert differing(target, shop) == []


def test_a_link_that_leads_elsewhere_is_left_out(shop, tmp_path):
    (tmp_path / "secret").write_bytes(b"secret")
    (shop / "link").symlink_to(tmp_path / "secret")
    (shop / "folder").symlink_to(tmp_path)
    packed(shop, tmp_path / "b.zip")
    with zipfile.ZipFile(tmp_path / "b.zip") as file:
        assert not [n for n in file.namelist() if n.startswith(("link", "folder"))]


def test_nothing_is_overwritten(shop, tmp_path):
    packed(shop, tmp_path / "b.zip")
    (shop / "shelf.toml").write_text("# min3\n", encoding="utf-8")
    before = contents(shop)
    with pytest.raises(BadInput, match=r"1 of its files .*shelf\.toml.*new folder"):
        unpacked(tmp_path / "b.zip", shop)
    assert contents(shop) == before
    (shop / "shelf.toml").write_text("# mine\n", encoding="utf-8")
    with pytest.raises(BadInput, match="all files of the backup are there"):
        unpacked(tmp_path / "b.zip", shop)


def zipped(path, *entries):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content, mode in entries:
            info = zipfile.ZipInfo(name)
            info.external_attr = mode << 16
            info.compress_type = zipfile.ZIP_DEFLATED
            file.writestr(info, content)
    return path


FILE = stat.S_IFREG | 0o644


@pytest.mark.parametrize(
    ("name", "mode", "words"),
    [("../x", FILE, "leads out"), ("a/../../x", FILE, "leads out"), ("/etc/x", FILE, "leads out"),
     ("C:\\x", FILE, "leads out"), ("C:/x", FILE, "leads out"), ("..\\x", FILE, "leads out"),
     ("link", stat.S_IFLNK | 0o777, "is a link"), ("pipe", stat.S_IFIFO | 0o644, "no ordinary file")],
)  # fmt: skip
def test_a_zip_that_leads_elsewhere_is_refused(tmp_path, name, mode, words):
    (tmp_path / "in").mkdir()
    path = zipped(tmp_path / "in" / "b.zip", ("good", b"x", FILE), (name, b"/etc/passwd", mode))
    with pytest.raises(BadInput, match=words):
        unpacked(path, tmp_path / "new")
    assert contents(tmp_path) == {"in/b.zip": path.read_bytes()}


def test_a_bomb_is_refused_before_it_is_unpacked(tmp_path):
    path = zipped(tmp_path / "b.zip", *((f"{n}", b"\0" * 20_000_000, FILE) for n in range(6)))
    with pytest.raises(BadInput, match="would swell from"):
        unpacked(path, tmp_path / "new")
    assert list(contents(tmp_path)) == ["b.zip"]


def test_a_damaged_zip_a_doubled_name_and_no_zip(tmp_path):
    path = zipped(tmp_path / "b.zip", ("a", b"hello " * 99, FILE), ("B", b"x", FILE))
    damaged = path.read_bytes().replace(b"hello"[:1], b"j", 1)
    broken = bytearray(path.read_bytes())
    broken[40] ^= 0xFF
    for content in (bytes(broken), b"no zip", b"", damaged[:60]):
        path.write_bytes(content)
        with pytest.raises(BadInput, match=r"b\.zip"):
            unpacked(path, tmp_path / "new")
        assert list(contents(tmp_path)) == ["b.zip"]
    twice = zipped(tmp_path / "b.zip", ("a", b"1", FILE), ("A", b"2", FILE))
    with pytest.raises(BadInput, match="twice"):
        unpacked(twice, tmp_path / "new")


def test_a_backup_that_finds_no_room_leaves_the_old_one(shop, tmp_path, monkeypatch):
    packed(shop, tmp_path / "b.zip")
    before = contents(tmp_path)

    def full(*_given, **_named):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(zipfile.ZipFile, "write", full)
    with pytest.raises(BadInput, match="No space left"):
        packed(shop, tmp_path / "b.zip")
    assert contents(tmp_path) == before


# tables


def rows(content):
    assert content.startswith(b"\xef\xbb\xbf")
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def test_figures_for_a_spreadsheet(plan):
    found = record.record(plan)
    table = rows(figures_csv(found))
    by_name = {row[0]: row for row in table[4:]}
    entry = found["results"]["etch_time"]
    assert float(by_name["etch time"][2]) == entry["value"]
    assert by_name["etch time"][3] == "min"
    assert len(by_name) == len(found["results"])


@pytest.mark.parametrize("name", HARD)
def test_a_hard_name_is_safe_everywhere(tmp_path, commission, name):
    order = commission.changed(title=name, client=name)
    folder = Shop(tmp_path).folder(folder_name(name))
    plan = planned(order)
    path = sheet.save(plan, folder)
    assert path.resolve().is_relative_to(tmp_path.resolve())
    assert "<script" not in path.read_text(encoding="utf-8")
    found = past.opened(folder / "record.json")
    assert past.commission_of(found).words["client"] == name.strip()
    for table in (rows(history_csv(jobs(tmp_path))), rows(figures_csv(found))):
        for row in table:
            assert not [c for c in row if c.startswith(("=", "+", "@", "\t", "\r"))]
            assert not [c for c in row if c.startswith("-") and not c[1:2].isdigit()]
    packed(tmp_path, tmp_path / "b.zip")
    unpacked(tmp_path / "b.zip", tmp_path / "new")
    assert json.loads(next((tmp_path / "new").rglob("record.json")).read_bytes()) == json.loads((folder / "record.json").read_bytes())  # fmt: skip


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx", "\rx", "\nx", "＝1"])
def test_no_cell_is_a_formula(text):
    # OWASP, "CSV injection": = + - @ tab, return, line feed, and their full-width forms
    assert safe(text) == f"'{text}"
    assert rows(history_csv([Job("a", client=text)]))[1][2] == f"'{text}"


def test_numbers_and_plain_words_stay():
    assert [safe(cell) for cell in (-1.5, None, "a=b", "'", "")] == [-1.5, None, "a=b", "'", ""]


def test_earlier_backups_are_no_part_of_the_next(tmp_path):
    root = tmp_path / "shop"
    (root / "commissions/a").mkdir(parents=True)
    (root / "commissions/a/commission.toml").write_text("x")
    first = root / "backups/shop-1.zip"
    packed(root, first)
    assert packed(root, root / "backups/shop-2.zip") == 1
