"""The documentation builds as a site without a network and without a broken link."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The built site; a warning, such as a link to nowhere, is an error."""
    folder = tmp_path_factory.mktemp("site")
    command = [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet", "--site-dir", str(folder)]
    quiet = {**os.environ, "NO_MKDOCS_2_WARNING": "1"}
    done = subprocess.run(command, cwd=ROOT, env=quiet, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return folder


def test_no_page_asks_for_anything_from_elsewhere(site):
    asks = re.compile(
        r"<(?:script|img|iframe)\b[^>]*\bsrc=[\"']?(?:https?:)?//"
        r"|<link\b[^>]*rel=[\"']?stylesheet[^>]*href=[\"']?(?:https?:)?//"
    )
    pages = list(site.rglob("*.html"))
    assert pages
    assert not [page.name for page in pages if asks.search(page.read_text(encoding="utf-8"))]


def test_every_tactic_and_source_has_its_place_in_the_reference(site, rulebook):
    tactics = (site / "reference" / "tactics.html").read_text(encoding="utf-8")
    sources = (site / "reference" / "sources.html").read_text(encoding="utf-8")
    assert not [tactic for tactic in rulebook.tactics if f"<code>{tactic}</code>" not in tactics]
    assert not [key for key in rulebook.sources if f"<code>{key}</code>" not in sources]
