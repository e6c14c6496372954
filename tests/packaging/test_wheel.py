"""The wheel is the whole product: installed without a checkout it has its rules and its demo."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the unpacked wheel, away from the checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(build, cwd=CHECKOUT, check=True, capture_output=True, timeout=120)
    (wheel,) = folder.glob("*.whl")
    zipfile.ZipFile(wheel).extractall(folder / "site")
    return folder / "site"


def run(site: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    # the unpacked wheel comes before the editable install on the path
    environment, command = {**os.environ, "PYTHONPATH": str(site)}, [sys.executable, *arguments]
    return subprocess.run(
        command, cwd=site.parent, env=environment, check=False, capture_output=True, text=True, timeout=60
    )


def test_the_wheel_carries_rules_and_demo(installed):
    assert (installed / "tacticapi" / "rules" / "defaults.yaml").is_file()
    assert (installed / "tacticapi" / "rules" / "tactics" / "serve.yaml").is_file()
    assert list((installed / "tacticapi" / "seeds_demo").glob("**/*.json"))


def test_an_installed_package_runs_the_demo_and_checks_its_rules(installed):
    where = run(installed, "-c", "import tacticapi; print(tacticapi.__file__)")
    assert Path(where.stdout.strip()).is_relative_to(installed)
    demo = run(installed, "-m", "tacticapi", "demo")
    assert demo.returncode == 0, demo.stderr
    assert "Because" in demo.stdout
    checked = run(installed, "-m", "tacticapi", "rules", "check")
    assert checked.returncode == 0, checked.stdout + checked.stderr
