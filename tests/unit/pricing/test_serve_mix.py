"""Both sides of the court in one answer."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from tacticapi.pricing.serve_mix import CourtServes, Served, Serves, SpotCounts, serve_mix

from .models import MODEL, SPOTS, counted

TURNS = tuple(Served(spot, "game point" if place % 5 == 0 else None) for place, spot in enumerate(("wide", "T") * 7))
BOTH = (
    CourtServes("deuce", replace(counted(), leans={"wide": 7, "T": 3}), TURNS),
    CourtServes("ad", SpotCounts(SPOTS)),
)


def test_each_court_gets_its_mix_order_and_verdict() -> None:
    deuce, ad = serve_mix(BOTH, MODEL, seed=7)
    assert (deuce.court, ad.court) == ("deuce", "ad")
    for one in (deuce, ad):
        assert sum(one.tenths.values()) == 10
        assert Counter(one.order) == Counter(one.tenths)
    assert deuce.verdict is not None
    assert deuce.verdict.kind == "switches-too-often"
    assert set(deuce.by_score) == {"game point"}
    assert [(look.spot, look.again) for look in deuce.after] == [("wide", 0), ("body", 0), ("T", 0)]
    assert (ad.verdict, ad.by_score, ad.after) == (None, {}, ())


def test_notes_say_what_the_mix_rests_on() -> None:
    deuce, ad = serve_mix(BOTH, MODEL, seed=7)
    assert any(note.startswith("28 serves counted") and "still open" in note for note in deuce.notes)
    assert any(note.startswith("10 leanings counted") for note in deuce.notes)
    assert "body: kept in the mix so that the receiver has to cover every spot." in deuce.notes
    assert any("too often" in note for note in deuce.notes)
    assert ad.notes[0] == "No serves counted: the mix rests on model defaults alone."
    assert any("No sequence" in note for note in ad.notes)


def test_a_few_serves_leave_the_shares_open() -> None:
    counts = SpotCounts(SPOTS, {"wide": Serves(2, 4), "body": Serves(1, 3), "T": Serves(2, 3)})
    (one,) = serve_mix([CourtServes("deuce", counts)], MODEL)
    assert any(note.startswith("10 serves counted: the best share of ") and "still open" in note for note in one.notes)


def test_many_serves_leave_no_share_open() -> None:
    counts = SpotCounts(SPOTS, {"wide": Serves(900, 1000), "body": Serves(100, 1000), "T": Serves(500, 1000)})
    (one,) = serve_mix([CourtServes("deuce", replace(counts, leans={"wide": 0, "T": 1000}))], MODEL)
    assert not any("still open" in note or "No serves counted" in note for note in one.notes)


@pytest.mark.parametrize(
    ("spots", "words"),
    [
        (["T", "wide"], "cannot show a pattern of any kind"),
        (["T"] * 12, "T came more often than the mix asks for"),
        (["wide"] * 7 + ["T"] * 7, "change spots too seldom"),
        (["wide", "T", "T", "body", "wide"], "does not mean that there is none"),
        (["wide", "T", "T", "body", "wide"], "cannot show before 8 serves"),
    ],
)
def test_notes_say_what_a_sequence_shows(spots: list[str], words: str) -> None:
    (one,) = serve_mix([CourtServes("ad", SpotCounts(SPOTS), tuple(map(Served, spots)))], MODEL)
    assert any(words in note for note in one.notes)


def test_the_seed_fixes_the_order_but_never_the_mix() -> None:
    same, again, other = (serve_mix(BOTH, MODEL, seed) for seed in (1, 1, 2))
    assert same == again
    assert [one.advice for one in same] == [one.advice for one in other]
    assert [one.order for one in same] != [one.order for one in other]
    twins = serve_mix([replace(BOTH[1], court=court) for court in ("deuce", "ad")], MODEL, 1)
    assert twins[0].order != twins[1].order


def test_a_spot_left_out_of_the_mix_does_not_break_the_verdict() -> None:
    (one,) = serve_mix([replace(BOTH[0], counts=counted(50))], replace(MODEL, least_share=0.0), 1)
    assert one.tenths["body"] == 0
    assert one.verdict is not None


def test_a_court_given_twice_is_refused() -> None:
    with pytest.raises(ValueError, match="expected each once"):
        serve_mix([BOTH[0], BOTH[0]], MODEL)


def test_a_serve_to_an_unknown_spot_is_refused() -> None:
    with pytest.raises(ValueError, match="unknown spots"):
        serve_mix([CourtServes("ad", SpotCounts(SPOTS), (Served("middle"),))], MODEL)
