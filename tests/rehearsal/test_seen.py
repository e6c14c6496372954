"""Observers miss and miscount as often as said, and a warm-up shows shares that depend on what was fed."""

from collections import defaultdict
from random import Random

import pytest

from tacticapi.rulebook.load import load
from tests.rehearsal.world.match import Court, Score, play_game
from tests.rehearsal.world.pairing import draw_pairing
from tests.rehearsal.world.seen import Observer, write_games
from tests.rehearsal.world.warm_up import games_looks, warm_up


def notes_of(index: int, observer: Observer) -> list[dict]:
    p = draw_pairing(31, index)
    rng = Random(index)
    notes = warm_up(p.nature, p.other, p.habits, observer, rng)
    court, score = Court(p.own, p.other, p.nature, p.habits, rng, p.plan), Score()
    games = [play_game(court, score) for _ in range(6)]
    return (
        notes
        + write_games(observer, games, p.same_handed, set=1, game=6)
        + games_looks(p.nature, p.habits, observer, rng)
    )


def test_one_chance_in_five_is_missed_and_one_seen_in_ten_is_wrong():
    observer, n = Observer(Random(1)), 20_000
    seen = [observer.sees(True, ()) for _ in range(n)]
    missed = seen.count(None)
    assert missed / n == pytest.approx(0.20, abs=0.01)
    assert seen.count(False) / (n - missed) == pytest.approx(0.10, abs=0.01)


def test_an_observer_who_never_errs_writes_down_what_happened():
    observer = Observer(Random(1), 0.0, 0.0)
    assert all(observer.sees(answer, ()) is answer for answer in (True, False))
    assert observer.sees("T", ("wide", "body", "T")) == "T"


def test_everything_written_down_is_in_the_vocabulary_and_said_in_an_accepted_way():
    kinds = load().kinds
    for index in range(6):
        for note in notes_of(index, Observer(Random(index))):
            kind = kinds[note["what"]]
            said = next(way for way in ("counts", "count", "rating", "value", "amount") if way in note)
            assert said in {way.value for way in kind.ways}, note
            assert "count" not in note or 0 <= note["count"] <= note["of"]
            assert set(note.get("counts", {})) <= set(kind.options)
            assert "value" not in note or note["value"] in kind.options
            assert "rating" not in note or 0 <= note["rating"] <= 4
            assert not ({"wing", "serve"} & set(note)) - set(kind.qualifiers), note


def test_backhands_seen_in_a_warm_up_follow_the_balls_that_were_fed_there():
    fed: dict[bool, list[float]] = defaultdict(list)
    for index in range(60):
        p = draw_pairing(31, index)
        notes = {
            n["what"]: n for n in warm_up(p.nature, p.other, p.habits, Observer(Random(index), 0.0, 0.0), Random(index))
        }
        a, b = (notes[f"warmup.fed_{wing}"]["amount"] for wing in ("forehand", "backhand"))
        hit = [notes[f"warmup.{wing}_made"]["of"] for wing in ("forehand", "backhand")]
        fed[b > a].append(hit[1] / sum(hit))
    assert sum(fed[True]) / len(fed[True]) > sum(fed[False]) / len(fed[False]) + 0.05


def test_a_weak_low_backhand_is_handled_less_often_than_a_sound_one():
    handled = {True: [0, 0], False: [0, 0]}
    for index in range(60):
        weak = draw_pairing(31, index).nature["low_backhand"] < 0
        for note in notes_of(index, Observer(Random(index), 0.0, 0.0)):
            if note["what"] == "rally.against_low_ball" and note["wing"] == "backhand":
                handled[weak][0] += note["count"]
                handled[weak][1] += note["of"]
    shares = {weak: a / b for weak, (a, b) in handled.items()}
    assert shares[True] < shares[False]
