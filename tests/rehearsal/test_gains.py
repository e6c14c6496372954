"""What tactics are worth in the world, fitted as the rulebook prices them."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import yaml

from tacticapi.rulebook.entries import shape_mistakes
from tacticapi.rulebook.files import parse_document
from tacticapi.rulebook.load import load
from tests.rehearsal import gains
from tests.rehearsal.gains import fitted_gains, meet, suggested_gains
from tests.rehearsal.world.tactics import options

FEW = 150


@pytest.fixture(scope="module")
def met():
    return [meet(7, index) for index in range(FEW)]


@pytest.fixture(scope="module")
def fitted(met):
    return {line.id: line for line in fitted_gains(met, load())}


def test_a_pairing_tells_the_gain_of_every_option_on_serve_and_on_return(met):
    assert all(len(one.gains) == len(options()) for one in met)
    serve = next(n for n, one in enumerate(options()) if one.tactic == "body-serve-to-cramp")
    assert all(back == pytest.approx(0.0, abs=1e-12) for one in met for _, back in [one.gains[serve]])


def test_a_weakness_and_the_stroke_for_it_raise_what_playing_at_it_is_worth(fitted):
    high, low = fitted["high-ball-to-high-ball-weakness"], fitted["low-slice-to-low-ball-weakness/backhand"]
    assert high.beliefs["weak_high_backhand/backhand"] > 0 < high.strokes["topspin_height"]
    assert low.beliefs["weak_low_ball/backhand"] > 0 < low.strokes["slice_backhand"]
    assert all(0.2 < line.explained < 1.0 for line in fitted.values())


def test_a_tactic_that_pays_nobody_here_has_no_line(fitted):
    assert "attack-second-serve" not in fitted


def test_the_lines_are_those_of_the_rule_file(fitted):
    line = fitted["high-ball-to-high-ball-weakness"]
    (read,) = yaml.safe_load("gains:\n" + line.as_yaml())["gains"]
    assert read["id"] == line.id
    assert read["base"] == pytest.approx(line.base, abs=5e-5)
    assert read["strokes"] == {key: pytest.approx(part, abs=5e-5) for key, part in line.strokes.items()}


def test_what_is_written_is_the_rule_file_that_so_many_pairings_suggest(met, fitted, monkeypatch):
    monkeypatch.setattr(gains, "FEWEST", FEW)
    monkeypatch.setattr(gains, "meet", lambda seed, index: met[index])
    monkeypatch.setattr(gains, "ProcessPoolExecutor", lambda processes, context: ThreadPoolExecutor(processes))
    told: list[tuple[int, int]] = []
    text = suggested_gains(FEW, 7, 2, lambda done, of: told.append((done, of)))
    assert f"# that world can play it. Written by `python -m tests.rehearsal --fit --seed 7 --opponents {FEW}`" in text
    assert told == [(done, FEW) for done in range(1, FEW + 1)]
    assert [line["id"] for line in yaml.safe_load(text)["gains"]] == list(fitted)
    assert list(shape_mistakes(parse_document(Path("gains.yaml"), text), "gains")) == []


def test_too_few_opponents_fit_nothing():
    with pytest.raises(ValueError, match="at least 200 opponents"):
        suggested_gains(100, 1, 1)
