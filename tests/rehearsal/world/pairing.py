"""One user against one hidden opponent: everything that the four players of a rehearsal have in common."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from tests.rehearsal.world.habits import Habits, opponent_habits
from tests.rehearsal.world.match import adapting
from tests.rehearsal.world.own_plan import own_plan
from tests.rehearsal.world.points import Opposition, opposition, point_chances
from tests.rehearsal.world.qualities import Nature, Player, User, draw_nature, draw_user, opponent, own_player
from tests.rehearsal.world.tactics import Chosen, options, played, reads_serves
from tests.rehearsal.world.worlds import HOME, World

SHORTLIST: Final = 8  # tactics that an all-knowing player still tries in company


@dataclass(frozen=True, slots=True)
class Chances:
    """The user's chances to win a point on own serve and on return."""

    serve: float
    return_: float

    @property
    def point(self) -> float:
        """Over all points, half serve and half return."""
        return (self.serve + self.return_) / 2


@dataclass(frozen=True, slots=True)
class Pairing:
    """A user and an opponent, their players, the opponent's habits, the user's sensible plan."""

    nature: Nature
    user: User
    own: Player
    other: Player
    habits: Habits
    plan: Habits
    facing: Opposition
    _known: dict[tuple[object, ...], Chances] = field(default_factory=dict, compare=False)

    @property
    def same_handed(self) -> bool:
        """Whether both play with the same hand."""
        return self.nature.left == self.user.left

    @property
    def favourites(self) -> tuple[int, int]:
        """The spot that the opponent's first serve favours, by court."""
        first = self.habits.serves[0].sum(axis=1)
        return int(np.argmax(first[0])), int(np.argmax(first[1]))

    def chances(self, chosen: Sequence[Chosen], lean: tuple[int, int] | None = None) -> Chances:
        """The exact chances with these tactics on top of the sensible plan, in steady play."""
        lean = lean if reads_serves(chosen) else None
        key = (*chosen, lean)
        if key not in self._known:
            found = point_chances(self.facing, played(self.plan, chosen, self.nature.left), lean)
            self._known[key] = Chances(*found)
        return self._known[key]

    def singles(self) -> list[float]:
        """What each tactic of `options()` adds to the chance to win a point, alone and read without an error."""
        plain = self.chances(()).point
        return [self.chances((one,), self.favourites).point - plain for one in options()]

    def best(self, count: int, singles: Sequence[float]) -> list[tuple[Chosen, ...]]:
        """What an all-knowing player adds: the best first tactic, the best to go with it, and so on up to `count`."""
        shortlist = sorted(zip(singles, range(len(singles)), options(), strict=True), key=lambda t: (-t[0], t[1]))[
            :SHORTLIST
        ]
        best: list[tuple[Chosen, ...]] = []
        taken: tuple[Chosen, ...] = ()
        value = self.chances(()).point
        for _ in range(count):
            company = [
                (self.chances((*taken, one), self.favourites).point, -i, one)
                for _, i, one in shortlist
                if one not in taken
            ]
            found = max(company)
            if found[0] > value:
                value, taken = found[0], (*taken, found[2])
            best.append(taken)
        return best


def draw_pairing(seed: int, index: int, world: World = HOME) -> Pairing:
    """The pairing of this index among those of this seed in a world."""
    rng = np.random.default_rng([seed, index])
    nature, user = draw_nature(rng, world), draw_user(rng)
    own, other = own_player(user, world), opponent(nature)
    same = nature.left == user.left
    habits, plan = opponent_habits(nature, same, user.left), own_plan(own, nature.left)
    return Pairing(nature, user, own, other, habits, plan, opposition(own, other, habits, adapting(nature)))
