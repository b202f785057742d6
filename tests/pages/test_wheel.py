"""The wheel, built and installed outside the clone, brings its workbooks and data along."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel")
    words = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "--no-deps",
        "--quiet",
        "--wheel-dir",
        str(folder),
        str(ROOT),
    ]
    subprocess.run(words, check=True, timeout=300)
    return next(folder.glob("*.whl"))


def test_wheel_opens_its_workbooks_outside_the_clone(wheel, tmp_path):
    place = tmp_path / "installed"
    zipfile.ZipFile(wheel).extractall(place)  # a pure wheel is installed by unpacking it
    code = (
        "import etchcalc, pathlib, tempfile, json\n"
        "from etchcalc.pages.live.workbooks import workbooks_folder, make_working_copies\n"
        "from etchcalc.job.shop import Shop\n"
        "from etchcalc.pages.panels import JobSheet\n"
        f"assert pathlib.Path(etchcalc.__file__).is_relative_to({str(place)!r})\n"
        f"assert workbooks_folder().is_relative_to({str(place)!r})\n"
        "shop = pathlib.Path('shop')\n"
        "make_working_copies(workbooks_folder(), shop / 'workbooks')\n"
        "book = json.loads((shop / 'workbooks' / '1-job-sheet.ipynb').read_text(encoding='utf-8'))\n"
        "text = ''.join(book['cells'][1]['outputs'][0]['data']['text/plain'])\n"
        "assert JobSheet(Shop(shop)).text() == text\n"
        "assert list((pathlib.Path(etchcalc.__file__).parent / 'pages' / 'live').glob('labextension/**/package.json'))\n"
    )
    run = subprocess.run(
        [sys.executable, "-P", "-c", code], cwd=tmp_path, env={"PYTHONPATH": str(place), **_environment()},
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr


def _environment():
    import os

    return {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "ETCHCALC_SHOP")}
