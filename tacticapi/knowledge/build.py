"""Checked entries ▶ the frozen objects of a rulebook."""

from collections.abc import Mapping, Sequence
from typing import Any

from tacticapi.domain.rulebook import Category, DangerSign, DangerWords, MomentRule, Source
from tacticapi.domain.tactic import (
    Alternative,
    Circumstance,
    Counter,
    Effect,
    Gate,
    Relation,
    RelationKind,
    SourceRef,
    Tactic,
    Touches,
)
from tacticapi.domain.terms import Moment, Phase, Show, Way
from tacticapi.domain.trait import Trait, WingRule
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge.conditions import expanded
from tacticapi.knowledge.profile import measure, regions

Data = Mapping[str, Any]
LOWEST_AUTHORITY = 8
PLAIN_OF_KIND = ("unit", "low", "high", "starter", "needs_end", "health", "same_as")
COMMON_PRACTICE, SOURCED, HOUSE_RULE = "common practice", "sourced", "house rule"


def source(data: Data) -> Source:
    """A publication."""
    return Source(data["key"], _text(data["citation"]), _text(data["backs"]), _text(data["status"]))


def kind(data: Data) -> ObservationKind:
    """A kind of observation."""
    plain = {name: data[name] for name in PLAIN_OF_KIND if name in data}
    return ObservationKind(
        id=data["id"],
        title=_text(data["title"]),
        asks=_text(data["asks"]),
        says=_text(data["says"]),
        ways=tuple(Way(way) for way in data["ways"]),
        phases=tuple(Phase(phase) for phase in data["phases"]),
        options=tuple(data.get("options", ())),
        qualifiers=dict(data.get("qualifiers", {})),
        trap=_text(data.get("trap")),
        probe=_text(data.get("probe")),
        unused_because=_text(data.get("unused_because")),
        measures=tuple(map(measure, data.get("measures", ()))),
        **plain,
    )


def trait(data: Data) -> Trait:
    """A trait."""
    return Trait(
        id=data["id"],
        title=_text(data["title"]),
        means=_text(data["means"]),
        wing=WingRule(data["wing"]),
        regions=regions(data),
        favourite=data.get("favourite"),
        not_from=_text(data.get("not_from")),
        unused_because=_text(data.get("unused_because")),
    )


def danger(data: Data) -> DangerWords:
    """The danger signs and their words."""
    pain = data["pain"]
    return DangerWords(
        window=data["window"],
        negators=frozenset(data["negators"]),
        harmless=tuple(data["harmless"]),
        signs=tuple(
            DangerSign(one["id"], tuple(one["words"]), one.get("for_the_match", False)) for one in data["signs"]
        ),
        pain_sites=dict(pain["sites"]),
        hurts=pain["hurts"],
        clear=pain["clear"],
        fine=pain["fine"],
        not_pain=(pain["never"],),
    )


def category(data: Data) -> Category:
    """A group of tactics."""
    return Category(data["id"], data["title"], data["tactical"], data["authority"])


def moment_rule(data: Data) -> MomentRule:
    """What a moment may show."""
    only = data.get("only_categories", False)
    return MomentRule(Moment(data["moment"]), data["limit"], tuple(data["reminders"]), only)


def circumstance(data: Data, levels: Mapping[str, float]) -> Circumstance:
    """A circumstance; one without `when` is computed from the situation."""
    when = tuple(all_of for one in data.get("when", ()) for all_of in expanded(one["all"], levels))
    return Circumstance(data["id"], _text(data["means"]), when)


def tactic(data: Data, group: str, authority: int, house: bool, levels: Mapping[str, float]) -> Tactic:
    """A tactic of the category `group`, whose `authority` counts where the tactic states none."""
    sources = data["source"] if isinstance(data["source"], list) else []
    optional = {name: data[name] for name in ("targets", "family", "alone", "tires") if name in data}
    return Tactic(
        id=data["id"],
        category=group,
        title=_text(data["title"]),
        say=_text(data["say"]),
        why=_text(data["why"]),
        when=_alternatives(data["when"], levels),
        needs=tuple(Gate(tuple(n.get("any_of") or (n["own"],)), n["at_least"]) for n in data.get("needs", ())),
        unless=_counters(data.get("unless", ()), levels),
        not_if=_text(data["not_if"]),
        stop_when=_text(data["stop_when"]),
        show=Show(data.get("show", Show.GAIN)),
        risk=data["risk"],
        effect=_effect(data["effect"]),
        authority=data.get("authority", authority),
        relations=tuple(_relation(one) for one in data.get("relations", ())),
        sources=tuple(SourceRef(one["key"], _text(one["backs"])) for one in sources),
        caution=_text(data.get("caution")),
        moments=tuple(Moment(one) for one in data.get("moments", ())),
        coaches_differ=_text(data.get("coaches_differ")),
        deprecated=_text(data.get("deprecated")),
        house=house,
        loads=tuple(data.get("loads", ())),
        status=HOUSE_RULE if house else SOURCED if sources else COMMON_PRACTICE,
        **optional,
    )


def _alternatives(when: Sequence[Data], levels: Mapping[str, float]) -> tuple[Alternative, ...]:
    return tuple(
        Alternative(all_of, float(one.get("scale", 1.0)), _text(one.get("say")))
        for one in when
        for all_of in expanded(one["all"], levels)
    )


def _counters(unless: Sequence[Data], levels: Mapping[str, float]) -> tuple[Counter, ...]:
    return tuple(Counter(all_of, _text(one["why"])) for one in unless for all_of in expanded(one["all"], levels))


def _effect(data: Data) -> Effect:
    return Effect(
        on=Touches(data["on"]),
        share=float(data["share"]),
        gain=float(data["gain"]),
        loss=float(data["loss"]),
        cause=data.get("cause", "reminder"),
        note=_text(data.get("note", "")),
    )


def _relation(data: Data) -> Relation:
    found = next(one for one in RelationKind if one.value in data)
    return Relation(found, data[found.value], _text(data.get("settled")), data.get("by"))


def _text(text: Any) -> Any:
    """Text with single spaces; YAML's folded blocks end in a line break that is no part of it."""
    return " ".join(text.split()) if isinstance(text, str) else text
