"""The old table prices every tactic that can be played, as the build did that it was taken from."""

import pytest

from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.rulebook.load import load
from tests.rehearsal.old_prices import belief, old_price, table
from tests.rehearsal.world.qualities import RATED
from tests.rehearsal.world.shots import BACKHAND, FOREHAND
from tests.rehearsal.world.tactics import CHANGES, Chosen, options

MIDDLING = dict.fromkeys(RATED, 2)


@pytest.fixture(scope="module")
def usual():
    priors = EvidenceModel(load()).priors()
    return {(trait, wing.value if wing else None): chance for (trait, wing), chance in priors.items()}


def priced(option, beliefs, ratings=MIDDLING):
    return old_price(option, beliefs, ratings, same_handed=True)


def test_all_that_can_be_played_has_a_price_and_every_belief_in_the_table_is_still_held(usual):
    assert set(table()["tactics"]) == set(CHANGES)
    assert {belief(name) for fitted in table()["fitted"].values() for name in fitted["beliefs"]} <= set(usual)
    rests_on = {trait for effect in table()["tactics"].values() for trait in effect.get("rests_on", ())}
    assert rests_on <= {trait for trait, _ in usual}
    assert all(abs(priced(option, usual)) < 0.02 for option in options())


@pytest.mark.parametrize(
    ("option", "trait"),
    [
        (Chosen("high-ball-to-high-ball-weakness"), ("weak_high_backhand", "backhand")),  # fitted
        (Chosen("pace-against-slow-preparation", FOREHAND), ("rushed_by_pace", "forehand")),  # fitted, by wing
        (Chosen("attack-second-serve"), ("soft_second_serve", None)),  # by gain and loss
        (Chosen("serve-to-hidden-wing", BACKHAND), ("weak_return_wing", "backhand")),  # the same, by wing
    ],
)
def test_a_price_rises_with_the_weakness_that_it_rests_on(option, trait, usual):
    low, high = (priced(option, {**usual, trait: chance}) for chance in (0.2, 0.8))
    assert high > low


def test_a_tactic_without_a_fit_gains_its_share_of_chance_and_ability(usual):
    option, sure = Chosen("attack-second-serve"), {**usual, ("soft_second_serve", None): 1.0}
    strong = {**MIDDLING, "return_attack": 3}
    assert priced(option, sure) == pytest.approx(0.5 * 0.4 * 0.85 * 0.0089)
    assert priced(option, sure, strong) == pytest.approx(0.5 * 0.4 * 1.0 * 0.0089)
    assert priced(option, {**usual, ("soft_second_serve", None): 0.0}) == pytest.approx(-0.5 * 0.4 * 0.0074)


def test_a_weakness_of_one_wing_does_not_pay_at_the_other(usual):
    weak = {**usual, ("weak_return_wing", "forehand"): 0.9, ("hides_backhand", "backhand"): 0.1}
    assert priced(Chosen("serve-to-hidden-wing", FOREHAND), weak) > 0
    assert priced(Chosen("serve-to-hidden-wing", BACKHAND), weak) < 0
