"""Danger signs and pain are heard however they are posted."""

from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.rulebook.danger import DangerReader

from ...builders import tally

NOTES = yaml.safe_load((Path(__file__).parent / "data" / "danger_notes.yaml").read_text(encoding="utf-8"))
SIGN = "physical.warning_sign"


@pytest.fixture(scope="module")
def reader(rulebook):
    return DangerReader(rulebook)


@pytest.fixture(scope="module")
def read(reader, situation):
    def ask(**wire):
        return reader.read(situation(**wire))

    return ask


def test_notes_of_people_who_had_not_seen_the_list_stop_play(reader):
    missed = [note["text"] for note in NOTES["stop"] if not reader.signs_in(note["text"])]
    assert len(missed) <= 0.01 * len(NOTES["stop"]), missed


def test_most_of_them_are_taken_for_the_sign_that_was_meant(reader):
    right = [note["sign"] in reader.signs_in(note["text"]) for note in NOTES["stop"]]
    assert sum(right) >= 0.95 * len(right)


def test_tennis_talk_and_denials_rarely_stop_play(reader):
    stopped = [note for note in NOTES["harmless"] if reader.signs_in(note)]
    assert len(stopped) <= 0.06 * len(NOTES["harmless"]), stopped


def test_pain_in_words_is_placed_and_weighed(read):
    wrong = []
    for note in NOTES["pain"]:
        health = read(own={"pain_or_limit": note["text"]})
        placed = bool(health.signs) or (health.pain is not None and (note["site"] in health.pain.sites))
        severe = note["degree"] != "severe" or bool(health.signs) or (health.pain is not None and health.pain.stops)
        none = health.pain is None and not health.signs
        if not (none if note["site"] == "none" else placed and severe):
            wrong.append((note, health))
    assert len(wrong) <= 0.03 * len(NOTES["pain"]), wrong


@pytest.mark.parametrize("sign", [s["sign"] for s in {n["sign"]: n for n in NOTES["stop"]}.values()])
def test_every_sign_can_be_posted_by_name(read, sign):
    assert read(observations=[{"what": SIGN, "value": sign}]).signs == (sign,)


def test_every_name_that_can_be_posted_has_words_and_the_other_way_round(rulebook):
    assert rulebook.kinds[SIGN].options == tuple(sign.id for sign in rulebook.danger.signs)


@pytest.mark.parametrize(
    "text",
    [
        {"own": {"pain_or_limit": "chest pain, cannot breathe"}},
        {"own": {"favourite_pattern": "felt faint in the warm-up"}},
        {"opponent": {"previous_meeting": "he had a seizure at 4-4"}},
        {"context": {"sun": "low, and I feel dizzy"}},
        {"observations": [tally("rally.forehand_errors", 1, 4, note="she is wheezing")]},
        {"observations": [tally("rally.forehand_errors", 1, 4, by="dad, chest pain")]},
        {"observations": [tally("rally.forehand_errors", 1, 4, ref="vomiting now")]},
    ],
)
def test_every_free_text_is_read(read, text):
    assert read(**text).signs


@pytest.mark.parametrize(
    ("own", "sign"),
    [
        ({"pain_site": "chest"}, "chest pain"),
        ({"pain_site": "chest", "pain_now": 0}, "chest pain"),
        ({"pain_site": "head"}, "head knock"),
        ({"pain_site": "head", "pain_now": 0}, "head knock"),
        ({"pain_now": 1, "pain_or_limit": "took a ball to the head"}, "head knock"),
        ({"pain_now": 1, "pain_or_limit": "pain spreads into my left arm"}, "chest pain"),
        ({"pain_now": 1, "pain_or_limit": "pressure on the chest"}, "chest pain"),
    ],
)
def test_a_site_or_words_beside_a_small_number_are_danger_signs(read, own, sign):
    assert sign in read(own=own).signs


@pytest.mark.parametrize(
    ("heard", "texts"),
    [
        (False, ["no chest pain", "not dizzy, not sick, no headache", "headache: none",
                 "checked for dizziness and vomiting: all clear"]),
        (True, ["no energy, and chest pain", "not well, dizzy", "chest does not stop hurting", "CHEST PAIN!!",
                "can\u2019t breathe", "can not breathe", "très dizzÿ"]),
    ],
)  # fmt: skip
def test_a_denial_holds_up_to_its_comma(reader, heard, texts):
    assert [text for text in texts if bool(reader.signs_in(text)) is not heard] == []


def test_a_fact_is_not_cleared_by_what_is_seen(read):
    own, cleared = {"pain_or_limit": "dizzy"}, [{"what": "physical.cleared", "seen": True}]
    assert read(own=own, observations=cleared).signs == ("dizziness",)


SPARED = ["shoulder", "elbow", "wrist", "hand", "hip", "thigh", "knee", "calf", "ankle", "foot"]


@pytest.mark.parametrize("site", [*SPARED, "neck", "back", "abdomen", "groin", "other", None])
@pytest.mark.parametrize("degree", [1, 2, 3, 4])
@pytest.mark.parametrize("age", [None, "U12", "U14", "U18", "open", "70+"])
def test_slight_pain_in_an_adults_limb_alone_is_spared(read, site, degree, age):
    own = {"pain_now": degree, **({"pain_site": site} if site else {}), **({"age_band": age} if age else {})}
    health = read(own=own)
    young = age in {"U12", "U14", "U18"} and site in {"shoulder", "elbow", "back"}
    assert health.pain is not None
    assert health.pain.stops is (degree >= 2 or site not in SPARED or young)
    arm = {"shoulder", "elbow", "wrist", "hand"}
    assert health.sore == (() if health.pain.stops else ("arm",) if site in arm else ("legs",))


@pytest.mark.parametrize("own", [{"pain_now": 0}, {"pain_now": 0, "pain_site": "knee"}, {"pain_or_limit": "none"}, {}])
def test_no_pain_is_no_pain(read, own):
    assert read(own=own).pain is None


def test_the_age_of_the_opponent_does_not_make_an_adults_elbow_a_childs(read):
    health = read(own={"pain_now": 1, "pain_site": "elbow", "age_band": "open"}, opponent={"age_band": "U14"})
    assert health.pain is not None
    assert not health.pain.stops


@given(st.text(max_size=500))
def test_any_text_can_be_read(reader, text):
    assert all(isinstance(sign, str) for sign in reader.signs_in(text))
