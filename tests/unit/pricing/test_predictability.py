"""Whether a sequence of serves gives its server away."""

import random
from collections import Counter
from itertools import permutations, product

import pytest

from tacticapi.pricing.predictability import judge_by_score, judge_sequence, share_after

EVEN = {"wide": 1 / 3, "body": 1 / 3, "T": 1 / 3}
TWO = {"wide": 0.5, "T": 0.5}


def p_of(sequence, expected):
    return judge_sequence(sequence, expected).p_value


T_THRICE = ["T", "T", "wide", "T", "T", "T", "wide", "T", "body", "T"] * 2


@pytest.mark.parametrize(
    ("serves", "expected", "kind"),
    [
        (["T"] * 12, EVEN, "favourite"),
        (T_THRICE, EVEN, "favourite"),
        (T_THRICE, {"wide": 0.15, "body": 0.1, "T": 0.75}, "no-sign"),  # the mix asks for it
        (["wide", "T"] * 7, TWO, "switches-too-often"),
        (["wide"] * 7 + ["T"] * 7, TWO, "switches-too-seldom"),
        (["wide"] * 4 + ["body"] * 4 + ["T"] * 4, EVEN, "switches-too-seldom"),
        (["wide", "T", "T", "body", "wide", "wide", "T", "body", "body", "T", "wide", "T"], EVEN, "no-sign"),
        (random.Random(1).choices(list(EVEN), k=200), EVEN, "no-sign"),
    ],
)
def test_a_favourite_strict_turns_and_blocks_are_seen_and_no_more(serves, expected, kind):
    verdict = judge_sequence(serves, expected)
    assert verdict.kind == kind
    if serves == ["T"] * 12:
        assert (verdict.spot, verdict.p_value) == ("T", pytest.approx(2 * 3 * (1 / 3) ** 12))


@pytest.mark.parametrize("expected", [TWO, EVEN, {"wide": 0.3, "T": 0.7}])
def test_needed_is_the_shortest_sequence_that_could_show_anything(expected):
    needed = judge_sequence([], expected).needed
    assert any(p_of(order, expected) < 0.05 for order in product(expected, repeat=needed))
    assert all(p_of(order, expected) >= 0.05 for order in product(expected, repeat=needed - 1))
    assert judge_sequence(["wide"] * (needed - 1), expected).kind == "too-few"


def test_pure_chance_is_accused_at_most_once_in_twenty():
    for expected, length in ((TWO, 10), (EVEN, 8)):
        orders = list(product(expected, repeat=length))
        accused = sum(judge_sequence(order, expected).kind not in ("no-sign", "too-few") for order in orders)
        assert 0 < accused / len(orders) <= 0.05


def test_a_habit_at_one_score_is_seen_though_the_whole_looks_even():
    spots = ["T"] * 6 + ["wide", "wide", "body"] * 4
    scores = ["game point"] * 6 + ["other"] * 12
    verdicts = judge_by_score(spots, scores, EVEN)
    assert (verdicts["game point"].kind, verdicts["game point"].spot) == ("favourite", "T")
    assert verdicts["game point"].p_value == pytest.approx(2 * 3 * (1 / 3) ** 6)
    assert verdicts["other"].kind == "no-sign"
    assert judge_by_score(["T", "T"], ["deuce", None], EVEN)["deuce"].kind == "too-few"


@pytest.mark.parametrize(("hits", "others"), [(1, 3), (3, 3), (4, 2), (2, 5)])
def test_the_share_expected_after_a_spot_is_the_mean_over_all_orders(hits, others):
    looks = [share_after(order, "T") for order in permutations(["T"] * hits + ["wide"] * others)]
    shares = [look.share for look in looks if look.share is not None]
    assert {look.by_chance for look in looks if look.share is not None} == {(hits - 1) / (hits + others - 1)}
    assert sum(shares) / len(shares) == pytest.approx((hits - 1) / (hits + others - 1))
    repeats = Counter(look.again for look in looks)
    for look in looks[:: len(looks) // 10]:
        few = sum(number for again, number in repeats.items() if again <= look.again)
        many = sum(number for again, number in repeats.items() if again >= look.again)
        assert look.p_value == pytest.approx(min(1, 2 * min(few, many) / len(looks)))


def test_nothing_follows_a_spot_never_served_or_served_last_only():
    for look in (share_after([], "T"), share_after(["wide", "T"], "T"), share_after(["wide", "wide"], "T")):
        assert (look.of, look.share, look.by_chance, look.p_value) == (0, None, None, 1.0)
