"""The rulebook as data: what can be posted, what is believed from it, and what is suggested."""

from collections.abc import Iterator

from tacticapi.client.answers.reading import read
from tacticapi.client.answers.rulebook import Kind, Ready, Rulebook, Source, Tactic, Trait
from tacticapi.client.calls import Calls
from tacticapi.client.shown.pictures import Picture


class Lookups:
    """What may be read without a club. Lists are fetched page by page as they are needed."""

    _calls: Calls

    def vocabulary(self, *, subject: str | None = None, phase: str | None = None) -> Iterator[Kind]:
        """Every kind of observation: its question, how it is said, and the trap in it."""
        query = {"subject": subject, "phase": phase}
        return (read(Kind, item) for item in self._calls.pages("/v1/vocabulary", query))

    def traits(self) -> Iterator[Trait]:
        """Every trait that an opponent is believed to have or not, with what moves the belief."""
        return (read(Trait, item) for item in self._calls.pages("/v1/traits"))

    def tactics(
        self, *, category: str | None = None, status: str | None = None, risk: str | None = None
    ) -> Iterator[Tactic]:
        """Every tactic with its conditions and sources."""
        query = {"category": category, "status": status, "risk": risk}
        return (read(Tactic, item) for item in self._calls.pages("/v1/tactics", query))

    def tactic(self, tactic: str) -> Tactic:
        """One tactic by its id. Raises NotFound."""
        return read(Tactic, self._calls.read(f"/v1/tactics/{tactic}"))

    def tactic_picture(self, tactic: str) -> Picture:
        """The place of a tactic on the court. Raises NotFound where it has none."""
        return Picture(self._calls.text(f"/v1/tactics/{tactic}/picture", accept="image/svg+xml"))

    def sources(self) -> Iterator[Source]:
        """Every publication that a fact of the rules rests on."""
        return (read(Source, item) for item in self._calls.pages("/v1/sources"))

    def rulebook(self) -> Rulebook:
        """Version, counts, categories, limits by moment, and every default."""
        return read(Rulebook, self._calls.read("/v1/rulebook"))

    def ready(self) -> Ready:
        """Whether the service can advise, and by which rules. Raises Unavailable where it cannot."""
        return read(Ready, self._calls.read("/readyz"))
