"""Danger signs that facts of own, opponent or context state."""

from collections.abc import Mapping
from typing import Any

from tacticapi.domain.rulebook import Rulebook

WARNING_SIGN = "physical.warning_sign"
_SITES = {"chest": "chest pain", "head": "head knock"}


def signs_in_facts(
    own: Mapping[str, Any], opponent: Mapping[str, Any], context: Mapping[str, Any], rulebook: Rulebook
) -> tuple[str, ...]:
    """Return the danger signs that facts state, as options of the kind physical.warning_sign."""
    found = (_SITES.get(str(facts.get("pain_site"))) for facts in (own, opponent, context))
    options = rulebook.kinds[WARNING_SIGN].options
    return tuple(dict.fromkeys(sign for sign in found if sign in options))
