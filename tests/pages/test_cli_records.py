"""The command line for records: worked again, backed up, brought back; each fault in one sentence."""

import json
import zipfile

import pytest

from etchcalc.job import keeping
from etchcalc.job.shop import DEMO, Shop
from etchcalc.pages import cli


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    folder = tmp_path_factory.mktemp("planned")
    assert cli.main(["plan", "--out", str(folder)]) == 0
    return folder


def run(capsys, *words):
    code = cli.main([*map(str, words)])
    return code, *capsys.readouterr()


def refused(capsys, *words):
    code, out, err = run(capsys, *words)
    assert code == 2 and out == "" and len(err.splitlines()) == 1 and 30 < len(err) < 600
    return err


def test_again_every_figure_the_same(planned, capsys):
    code, out, _ = run(capsys, "again", planned / "record.json")
    assert code == 0 and out.startswith("Rain gauge scale, saved 20")
    assert "every figure the same" in out and len(out.splitlines()) == 1


def test_again_tells_what_differs_of_an_earlier_one_too(planned, tmp_path, capsys):
    record = json.loads((planned / "record.json").read_text("utf-8"))
    record["results"]["metal_removed"]["value"] *= 2
    (tmp_path / keeping.EARLIER).mkdir()
    (tmp_path / "artwork.svg").write_bytes((planned / "artwork.svg").read_bytes())
    path = tmp_path / keeping.EARLIER / "record-0001.json"
    path.write_text(keeping.text(record), encoding="utf-8")
    code, out, _ = run(capsys, "again", path)
    assert code == 0 and "1 figure would differ" in out
    assert "beside" not in out, "its drawing is found beside the newest"
    assert "- metal removed" in out and len(out.splitlines()) == 2


@pytest.mark.parametrize(
    "content", [None, b"", b"[]", b'{"schema": 99}', b'{"schema": 4, "typed": {}}']
)
def test_again_refuses(content, tmp_path, capsys):
    path = tmp_path / "record.json"
    if content is not None:
        path.write_bytes(content)
    assert "record.json" in refused(capsys, "again", path)


def test_again_refuses_what_is_damaged_within(planned, tmp_path, capsys):
    record = json.loads((planned / "record.json").read_text("utf-8"))
    path = tmp_path / "record.json"
    path.write_text(keeping.text(record | {"results": {"depth": 1}, "drawing": 3}), "utf-8")
    assert "damaged" in refused(capsys, "again", path)


def test_backup_and_restore(tmp_path, capsys):
    shop = Shop(tmp_path / "shop")
    shop.add_demo()
    target, back = tmp_path / "b.zip", tmp_path / "back"
    code, out, _ = run(capsys, "backup", "--shop", shop.root, target)
    assert code == 0 and "2 files" in out and str(target) in out
    assert run(capsys, "backup", "--shop", shop.root, target)[0] == 0, "an older one is replaced"
    code, out, _ = run(capsys, "restore", target, back)
    assert code == 0 and "2 files" in out and f'etchcalc open --shop "{back}"' in out
    orders = Shop(back).open(DEMO), shop.open(DEMO)
    assert orders[0].typed == orders[1].typed and orders[0].words == orders[1].words
    assert "holds something already" in refused(capsys, "restore", target, back)


def test_backup_refuses(tmp_path, capsys, monkeypatch):
    assert "no shop in" in refused(
        capsys, "backup", "--shop", tmp_path / "none", tmp_path / "b.zip"
    )
    Shop(tmp_path / "shop").add_demo()
    monkeypatch.setenv("ETCHCALC_SHOP", str(tmp_path / "shop"))
    (tmp_path / "record.json").write_text("mine", encoding="utf-8")
    assert "no name of a zip" in refused(capsys, "backup", tmp_path / "record.json")
    assert (tmp_path / "record.json").read_text("utf-8") == "mine"
    (tmp_path / "d.zip").mkdir()
    assert "could not be written" in refused(capsys, "backup", tmp_path / "d.zip")


def test_restore_refuses(tmp_path, capsys):
    (tmp_path / "no.zip").write_bytes(b"no zip")
    with zipfile.ZipFile(tmp_path / "out.zip", "w") as file:
        file.writestr("../../x", "x")
    for name in ("gone.zip", "no.zip", "out.zip"):
        assert name in refused(capsys, "restore", tmp_path / name, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_plan_tells_where_another_saved_meanwhile(planned, tmp_path, capsys, monkeypatch):
    assert cli.main(["plan", "--out", str(tmp_path)]) == 0
    looked_up = cli.looked_up

    def meanwhile(plan):
        record = json.loads((tmp_path / "record.json").read_text("utf-8"))
        keeping.keep(tmp_path, record | {"title": "Another"}, "page")
        return looked_up(plan)

    monkeypatch.setattr(cli, "looked_up", meanwhile)
    capsys.readouterr()
    code, out, _ = run(capsys, "plan", "--out", tmp_path)
    assert code == 0 and "Another window saved version 2" in out
    assert keeping.version(tmp_path) == 3


@pytest.mark.parametrize("command", ["again", "backup", "restore"])
def test_help(command, capsys):
    with pytest.raises(SystemExit) as done:
        cli.main([command, "--help"])
    assert done.value.code == 0 and "usage: etchcalc" in capsys.readouterr().out
