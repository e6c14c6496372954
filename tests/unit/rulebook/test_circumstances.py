"""The circumstances that need arithmetic or a negation, each with what makes it so and what does not."""

import pytest

from tacticapi.rulebook.circumstances import COMPUTED, View, heat_index, holding
from tacticapi.rulebook.danger import DangerReader, sign_circumstance
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import next_point

from ...builders import scored


@pytest.fixture(scope="module")
def holds(rulebook, situation):
    reader = DangerReader(rulebook)
    names = frozenset(COMPUTED) | {sign_circumstance(sign.id) for sign in rulebook.danger.signs}

    def ask(importance=None, losing=False, winning=False, **wire):
        asked = situation(**wire)
        state = read_score(Format.from_wire(asked.context.get("format")), asked.score) if asked.score else None
        point = next_point(state) if state else None
        health = reader.read(asked)
        view = View(asked, rulebook.defaults, state, point, importance, losing, winning, health=health)
        return set(holding(view, names))

    return ask


def at(games, sets="", points="0-0", server="own", **wire):
    return {"score": scored(games, sets, points, server), **wire}


def own(**said):
    return {"own": said}


def them(**said):
    return {"opponent": said}


def day(**said):
    return {"context": said}


def saw(what, **said):
    return {"observations": [{"what": what, **said}]}


def test_the_deciding_point_is_one_point_for_both(holds):
    told = holds(**at("2-2", points="40-40", **day(format={"no_ad": True})))
    assert {"deciding-point", "game-point-for", "game-point-against", "break-point-against"} <= told
    assert "deciding-point" not in holds(**at("2-2", points="40-40"))


def test_without_a_tie_break_none_is_near_and_a_match_tie_break_is_one(holds):
    assert "tie-break-near" not in holds(**at("5-5", **day(format={"set": "advantage"})))
    super_tie_break = day(format={"sets": 3, "final_set": "match-tie-break-10"})
    assert "tie-break-now" in holds(**at("0-0", "6-4 4-6", "8-9", **super_tie_break))


@pytest.mark.parametrize(
    ("unforced", "of", "expected"),
    [
        (7, 14, {"losing-by-own-errors"}), (6, 14, set()), (5, 14, {"losing-to-better-play"}),
        (4, 8, {"losing-by-own-errors"}), (2, 8, {"losing-to-better-play"}), (7, 7, set()), (0, 7, set()),
    ],
)  # fmt: skip
def test_own_errors_are_judged_from_eight_lost_points_on(holds, unforced, of, expected):
    told = holds(own_errors={"unforced": unforced, "of": of})
    assert told & {"losing-by-own-errors", "losing-to-better-play"} == expected


@pytest.mark.parametrize(
    ("direction", "expected"),
    [
        ({"north": "with"}, {"wind-with", "wind-against"}),
        ({"north": "with", "south": "against"}, {"wind-with", "wind-against"}),
        ({"south": "cross"}, {"wind-across"}),
        (None, set()),
    ],
)
def test_the_far_end_is_the_mirror_of_the_near_one(holds, direction, expected):
    names = {"wind-with", "wind-against", "wind-across"}
    strong, light = (holds(context={"wind": {"strength": s, "direction": direction}}) for s in ("strong", "light"))
    assert strong & names == expected
    assert not light & (names | {"wind-strong", "wind-moderate"})
    assert {"wind-strong", "wind-moderate"} <= strong


WARM = {"wbgt": 25.0, "air_c": 28, "index": 30}
HEAT = {
    "adult": {
        "hot": {"wbgt": 28.0, "air_c": 31, "index": 32},
        "too-hot-to-play": {"wbgt": 32.2, "air_c": 38, "index": 40},
    },
    "over 60": {"hot": WARM, "too-hot-to-play": {"wbgt": 30.1, "air_c": 36, "index": 37}},
    "under 18": {"hot": WARM, "too-hot-to-play": {"wbgt": 30.1, "air_c": 36, "index": 37}},
    "under 14": {"hot": WARM, "too-hot-to-play": {"wbgt": 28.0, "air_c": 34, "index": 35}},
}
"""The levels of each row of ages, as the rules are meant to have them."""

AGES = {
    "adult": ("open", "35+", "50+", None),
    "over 60": ("60+", "70+"),
    "under 18": ("U18",),
    "under 14": ("U12", "U14"),
}
WHOSE = ("own", "opponent", "context")
LEVELS = [(row, level, figure) for row, levels in HEAT.items() for level in levels for figure in ("wbgt", "air_c")]


def aged(row):
    """Each way of posting an age of the row: of either player, or of the event."""
    return [{who: {"age_band": band}} if band else {} for band in AGES[row] for who in WHOSE]


def posted(wire, **heat):
    return {**wire, "context": {**wire.get("context", {}), "heat": heat}}


def test_every_age_band_has_a_row_of_heat(rulebook):
    bands = {band for row in AGES.values() for band in row if band}
    assert bands == set(rulebook.kinds["own.age_band"].options)


@pytest.mark.parametrize(("row", "level", "figure"), LEVELS)
def test_heat_is_reached_at_the_figure_of_the_age_and_not_below(holds, row, level, figure):
    limit = HEAT[row][level][figure]
    for wire in aged(row):
        assert level in holds(**posted(wire, **{figure: limit})), wire
        assert level in holds(**posted(wire, **{figure: limit + 0.1})), wire
        assert level not in holds(**posted(wire, **{figure: limit - 0.1})), wire


@pytest.mark.parametrize(("row", "level"), [(row, level) for row, levels in HEAT.items() for level in levels])
def test_damp_air_is_hot_by_its_heat_index_before_it_is_by_the_thermometer(holds, row, level):
    """The humidity is sought at which air below its own limit reaches the index."""
    air, limit = HEAT[row][level]["air_c"] - 1, HEAT[row][level]["index"]
    damp = next(h for h in range(101) if heat_index(air, h) >= limit)
    for wire in aged(row):
        assert level in holds(**posted(wire, air_c=air, humidity=damp)), wire
        assert level in holds(**posted(wire, air_c=air, humidity=min(100, damp + 1))), wire
        assert level not in holds(**posted(wire, air_c=air, humidity=damp - 1)), wire
        assert level not in holds(**posted(wire, air_c=air)), wire
        assert level not in holds(**posted(wire, humidity=100)), wire


def test_the_strictest_age_in_the_match_decides(holds):
    young = {"own": {"age_band": "open"}, "opponent": {"age_band": "U14"}}
    old = {"own": {"age_band": "70+"}, "opponent": {"age_band": "open"}}
    assert "too-hot-to-play" in holds(**posted(young, wbgt=28.0))
    assert "too-hot-to-play" not in holds(**posted(old, wbgt=28.0))
    assert "too-hot-to-play" in holds(**posted(old, wbgt=30.1))
    assert "too-hot-to-play" not in holds(**posted({"own": {"age_band": "open"}}, wbgt=30.1))


def test_a_measured_wbgt_decides_alone(holds):
    assert not {"hot", "too-hot-to-play"} & holds(**posted({}, wbgt=27.9, air_c=39, humidity=90))
    assert {"hot", "too-hot-to-play"} <= holds(**posted({}, wbgt=32.2, air_c=20, humidity=10))
    for cool in ({"wbgt": 27.9}, {"air_c": 30.9, "humidity": 20}, {"air_c": -5}):
        assert "hot" not in holds(**posted({}, **cool))
    assert "hot" not in holds()


@pytest.mark.parametrize("row", HEAT)
def test_extreme_heat_in_words_stops_play_at_every_age_and_hot_does_not(holds, row):
    for wire in aged(row):
        for word, levels in {
            "extreme": {"hot", "too-hot-to-play"},
            "hot": {"hot"},
            "warm": set(),
            "cool": set(),
        }.items():
            said = {**wire, "context": {**wire.get("context", {}), "heat": word}}
            assert holds(**said) & {"hot", "too-hot-to-play"} == levels, (wire, word)


@pytest.mark.parametrize(
    ("own", "opponent", "expected"),
    [
        ("right", "right", {"same-handed"}),
        ("left", "left", {"same-handed"}),
        ("left", "right", {"opposite-handed", "left-hander-against-right-hander"}),
        ("right", "left", {"opposite-handed", "right-hander-against-left-hander"}),
        ("both", "both", {"two-forehands"}),
        ("right", "both", {"two-forehands"}),
        (None, None, set()),
        ("right", None, set()),
    ],
)
def test_pairs_of_hands(holds, own, opponent, expected):
    told = holds(own={"handedness": own}, opponent={"handedness": opponent})
    names = [name for name in told if "hand" in name]
    assert set(names) == expected


@pytest.mark.parametrize(
    ("wire", "expected"),
    [
        (own(age_band="U12"), {"under-14", "under-18", "own-under-18"}),
        (own(age_band="U14"), {"under-14", "under-18", "own-under-18"}),
        (own(age_band="U18"), {"under-18", "own-under-18"}),
        (own(age_band="60+"), {"senior"}),
        (own(age_band="open"), set()),
        (them(age_band="U14"), {"opponent-under-14", "under-18"}),
        (them(age_band="U18"), {"under-18"}),
        (them(age_band="60+"), {"senior"}),
        (them(age_band="70+"), {"senior"}),
        (day(age_band="U12"), {"under-14", "opponent-under-14", "under-18", "own-under-18"}),
        (day(age_band="U14"), {"under-14", "opponent-under-14", "under-18", "own-under-18"}),
        (day(age_band="70+"), {"senior"}),
        ({}, set()),
    ],
)
def test_ages(holds, wire, expected):
    assert holds(**wire) & {"under-14", "opponent-under-14", "under-18", "own-under-18", "senior"} == expected


PAIN = {site: own(pain_now=1, pain_site=site) for site in ("wrist", "ankle", "elbow", "back")}
YOUNG_KNEE = own(pain_now=1, pain_site="knee", age_band="U14")
SIGN, HEAVY, BREATH = "physical.warning_sign", "physical.heavy_legs", "physical.recovery_of_breath"


def wind(strength, **direction):
    return day(wind={"strength": strength, "direction": direction})


@pytest.mark.parametrize(
    ("name", "so", "not_so"),
    [
        # the day and the people
        (
            "own-pain",
            [own(pain_now=1), own(pain_site="wrist"), own(pain_or_limit="sore knee")],
            [own(pain_now=0), own(pain_now=0, pain_site="wrist"), own(pain_or_limit="no pain"), {}],
        ),
        (
            "pain-stops-play",
            [
                own(pain_now=1), own(pain_now=2, pain_site="wrist"), PAIN["back"],
                own(pain_now=1, pain_site="elbow", age_band="U18"), {**PAIN["elbow"], **day(age_band="U14")},
            ],
            [PAIN["wrist"], YOUNG_KNEE, {**PAIN["elbow"], **them(age_band="U14")}],
        ),
        ("severe-pain", [own(pain_now=3, pain_site="wrist")], [own(pain_now=2, pain_site="neck")]),
        ("neck-pain", [own(pain_site="neck")], [own(pain_site="back")]),
        ("sore-arm", [PAIN["wrist"]], [PAIN["ankle"]]),
        (
            "sore-legs",
            [PAIN["ankle"], YOUNG_KNEE, own(pain_or_limit="sore knee")],
            [PAIN["wrist"], own(pain_now=2, pain_site="ankle")],
        ),
        ("opponent-out-of-breath", [saw(BREATH, rating=1)], [saw(BREATH, rating=2)]),
        ("sign-chest-pain", [saw(SIGN, value="chest pain")], [saw(SIGN, seen=True)]),
        ("sign-head-knock", [own(pain_site="head")], [own(pain_site="neck")]),
        ("sign-dizziness", [saw(HEAVY, seen=True, note="felt dizzy")], [saw(HEAVY, seen=True, note="not dizzy")]),
        (
            "warning-sign",
            [saw(SIGN, value="chest pain"), saw(SIGN, value="dizziness"), saw(SIGN, seen=True)],
            [saw(SIGN, seen=False), saw("movement.footing", seen=True)],
        ),
        ("long-match", [day(elapsed=60)], [day(elapsed=59)]),
        ("wet-or-damp", [day(surface_state="damp"), day(surface_state="wet")], [day(surface_state="dry")]),
        ("sun-in-play", [day(sun="north"), day(sun="south"), day(sun="both")], [day(sun="none")]),
        ("no-officials", [day(officials="none")], [{}]),
        ("officials-present", [day(officials="roving")], [{}]),
        (
            "coaching-may-be-barred",
            [day(coaching="permitted")],
            [day(coaching="permitted", device="coach")],
        ),
        ("wind-across", [wind("moderate", north="cross")], [wind("moderate", north="with")]),
        ("wind-with", [wind("moderate", south="against")], [wind("light", south="against")]),
        ("wind-moderate", [wind("moderate")], [wind("light")]),
        ("wind-strong", [wind("strong")], [wind("moderate")]),
        # the score, from here and not before
        (
            "no-games-yet",
            [at("0-0"), {"moment": "after-warm-up"}],
            [at("1-0"), at("0-1"), at("0-0", "6-4"), {"moment": "change-of-ends"}],
        ),
        (
            "first-games",
            [at("0-0"), at("3-0"), at("1-2"), {"moment": "after-warm-up"}],
            [at("3-1"), at("0-0", "6-0"), {}, at("1-1", moment="before-match"), {"moment": "after-match"}],
        ),
        ("games-one-to-four", [at("4-0"), at("2-2"), {"moment": "after-warm-up"}], [at("3-2"), at("0-0", "6-0"), {}]),
        ("ahead", [at("1-0"), at("0-1", "6-4")], [at("0-0"), at("0-1"), at("1-3", "6-4"), at("1-0", "4-6"), {}]),
        ("behind", [at("0-2"), at("1-1", "4-6")], [at("0-0"), at("1-0"), at("0-1", "6-4"), at("3-1", "4-6"), {}]),
        (
            "level",
            [at("0-0"), at("1-0", server="opponent"), at("2-2", "6-4 4-6")],
            [at("1-0"), at("2-0"), at("2-2", "6-4"), {}],
        ),
        (
            "one-break-behind",
            [at("0-2"), at("1-3"), at("0-3"), at("1-2", server="opponent")],
            [at("0-1", server="own"), at("0-3", server="opponent"), {}],
        ),
        (
            "two-breaks-behind",
            [at("0-4"), at("0-5"), at("0-3", server="opponent")],
            [at("0-2"), at("1-3"), at("0-3"), {}],
        ),
        (
            "far-behind",
            [at("0-4"), at("0-2", "4-6"), at("1-2", "4-6", server="opponent")],
            [at("0-2"), at("0-2", "6-4"), at("2-0", "4-6"), at("0-0", "4-6"), at("2-2", "4-6"), {}],
        ),
        (
            "outclassed",
            [at("0-4"), at("0-5"), at("1-5"), at("0-0", "1-6"), at("2-2", "6-4 0-6")],
            [at("0-3"), at("1-4"), at("2-5"), at("4-0"), at("0-0", "2-6"), at("0-0", "0-6 6-0"), {}],
        ),
        (
            "own-serves-for-set",
            [at("5-4"), at("5-0"), at("6-5")],
            [at("4-3"), at("5-5"), at("4-5"), at("5-4", server="opponent"), at("6-6", points="6-0"), at("0-0"), {}],
        ),
        (
            "opponent-serves-for-set",
            [at("4-5", server="opponent"), at("5-6", server="opponent")],
            [at("3-4", server="opponent"), at("5-4", server="opponent"), at("4-5"), at("6-6", points="0-6"), {}],
        ),
        ("tie-break-near", [at("5-5"), at("6-5"), at("5-6")], [at("5-4"), at("4-5"), at("6-6", points="1-0"), {}]),
        ("tie-break-now", [at("6-6", points="1-0")], [at("5-5"), at("6-5"), {}]),
        (
            "change-with-rest",
            [{}, at("0-0", "6-4"), at("2-1"), at("1-2")],
            [
                at("1-0"), at("0-1"), at("6-6", points="3-3"),
                *(at("2-1", moment=m) for m in ("set-break", "between-points")),
            ],
        ),
    ],
)  # fmt: skip
def test_a_circumstance_holds_in_these_situations_and_not_in_those(holds, name, so, not_so):
    assert [wire for wire in so if name not in holds(**wire)] == []
    assert [wire for wire in not_so if name in holds(**wire)] == []


def test_a_point_is_big_from_one_limit_on_and_easy_up_to_the_other(holds, rulebook):
    easy, big = (rulebook.defaults["score"][name] for name in ("easy_point", "important_point"))
    for importance, told in (
        (big, {"important-point"}),
        (big - 0.001, set()),
        (easy + 0.001, set()),
        (easy, {"easy-point"}),
        (0.001, {"easy-point"}),
        (0.0, set()),  # a point that decides nothing is no easy one
        (None, set()),
    ):
        assert holds(importance, **at("0-0")) & {"important-point", "easy-point"} == told, importance
