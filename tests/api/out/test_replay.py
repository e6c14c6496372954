"""Stored advice given again: the same under the same rules, and told with its reasons under others."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tacticapi.advice import Adviser
from tacticapi.cli import main
from tacticapi.cli.store import report
from tacticapi.club import Services
from tacticapi.club.advising import DIFFERS, LEFT_OUT, SAME, Outcome, recompute, recorded, replay
from tacticapi.club.situations import read_kept
from tacticapi.domain.advice import Advice
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.rulebook import load as rule_loading
from tacticapi.rulebook.evaluator import TooManyMatches

from ...databases import Played

FIRST_DIGEST = "sha256:" + "0" * 64


@pytest.fixture(scope="module")
def other_rules(rulebook: Rulebook, services: Services, ids: Played) -> Rulebook:
    """Rules without the tactic that the stored advice suggested first."""
    with services.reading(ids.club) as work:
        first = next(work.snapshots.stream()).advice["suggestions"][0]["tactic"]
    others = [tactic for name, tactic in rulebook.tactics.items() if name != first]
    tactics = {t.id: replace(t, relations=tuple(r for r in t.relations if r.to != first)) for t in others}
    return replace(rulebook, digest=FIRST_DIGEST, tactics=tactics)


@pytest.fixture(scope="module")
def changed(services: Services, other_rules: Rulebook) -> Services:
    return Services(services.engine, Adviser(other_rules))


def test_the_same_rules_say_the_same(services, ids):
    found = list(replay(services, ids.club))
    assert [(one.sort, one.told) for one in found] == [(SAME, ())] * 2
    assert {one.match_id for one in found} == {ids.match}


def test_other_rules_are_told_with_what_differs_and_why(changed, ids):
    first = next(replay(changed, ids.club))
    assert first.sort == DIFFERS
    assert any("is no longer suggested: today's rules do not have it" in line for line in first.told)
    assert any("is now suggested" in line for line in first.told)


def test_what_todays_rules_do_not_know_is_named_and_left_out(services, ids, rulebook):
    with services.reading(ids.club) as work:
        snapshot = next(work.snapshots.stream())
        kept, _, before = recorded(work, snapshot, read_kept(work, snapshot.match_id))
    first, *others = kept.observations
    old = replace(first, kind="old.kind", body={**(first.body or {}), "what": "old.kind"})
    told = recompute((replace(kept, observations=[old, *others]), snapshot, before), services.adviser)
    assert told.sort == DIFFERS
    assert "today's rules do not know old.kind" in told.told
    later = replace(snapshot, question={**snapshot.question, "mood": "calm"})
    assert recompute((kept, later, before), services.adviser).sort == LEFT_OUT
    alone = replace(snapshot, question={**snapshot.question, "previous": snapshot.id})
    told = recompute((kept, alone, before), services.adviser)
    assert (told.sort, told.told) == (LEFT_OUT, ("the advice before it is no longer stored",))


def test_a_situation_that_fits_today_s_rules_in_too_many_ways_is_left_out(services, ids, monkeypatch):
    def too_many(situation: Situation, **more: Any) -> Advice:
        raise TooManyMatches("tactic/x/0")

    monkeypatch.setattr(services.adviser, "recommend", too_many)
    told = next(replay(services, ids.club))
    assert (told.sort, told.told) == (LEFT_OUT, ("its situation fits today's rules in too many ways",))


def test_advice_without_its_health_items_is_left_out_and_counted():
    given = ((LEFT_OUT, ("health items removed",)), (SAME, ()), (DIFFERS, ("x is no longer suggested: y",)))
    told = report([Outcome("a", "m", "set-break", *one) for one in given], FIRST_DIGEST)
    assert "Left out 1: health items removed" in told
    assert "1 the same, 1 would differ, 1 left out" in told
    assert "- x is no longer suggested: y" in told
    assert max(len(line) for line in told.splitlines() if "sha256" not in line) <= 80


@pytest.fixture
def commanded(services: Services, ids: Played, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.setenv("TACTICAPI_DB", str(services.engine.url.database))

    def command(rules: Rulebook) -> Result:
        monkeypatch.setattr(rule_loading, "load", lambda paths: rules)
        return CliRunner().invoke(main, ["replay", ids.club])

    return command


def test_the_command_tells_by_its_status_whether_anything_differs(commanded, rulebook, other_rules):
    same, differs = commanded(rulebook), commanded(other_rules)
    assert (same.exit_code, differs.exit_code) == (0, 3)
    assert "2 the same, 0 would differ" in same.stdout
    assert "is no longer suggested" in " ".join(differs.stdout.split())
