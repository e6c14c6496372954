"""The world of the rehearsal is not of the recommender's making."""

import ast
import sys
from pathlib import Path

import pytest

REHEARSAL = Path(__file__).parent
ONLY_PASSED_ON = {"tacticapi.advice", "tacticapi.domain.situation"}
WORLD = sorted((REHEARSAL / "world").glob("*.py"))


def imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute"
            names.add(node.module or "")
    return names


@pytest.mark.parametrize("path", WORLD, ids=lambda path: path.name)
def test_a_world_module_imports_only_the_standard_library_numpy_and_its_own_folder(path):
    for name in imported(path):
        root = name.partition(".")[0]
        assert root == "numpy" or root in sys.stdlib_module_names or name.startswith("tests.rehearsal.world")


def test_no_world_module_reads_a_file():
    for path in WORLD:
        calls = [
            n.func.id
            for n in ast.walk(ast.parse(path.read_text()))
            if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)
        ]
        assert "open" not in calls


def test_only_the_players_know_the_recommender():
    for path in REHEARSAL.glob("*.py"):
        known = {name for name in imported(path) if name.startswith("tacticapi")}
        if path.name != "players.py" and not path.name.startswith("test_"):
            assert known <= ONLY_PASSED_ON, path
