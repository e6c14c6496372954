"""Formats and played matches for the property tests of scoring."""

from hypothesis import strategies as st

from tacticapi.scoring.formats import SIDES, Format
from tacticapi.scoring.score import State, after

formats = st.builds(
    lambda games, fewer, **rest: Format(games=games, tie_break_at=games - fewer, **rest),
    games=st.sampled_from((4, 6)),
    fewer=st.sampled_from((0, 1)),
    sets=st.sampled_from((1, 3, 5)),
    set=st.sampled_from(("tie-break-7", "advantage")),
    final_set=st.sampled_from(
        (None, "tie-break-7", "tie-break-10", "advantage", "match-tie-break-7", "match-tie-break-10")
    ),
    no_ad=st.booleans(),
    tie_break_points=st.sampled_from((None, 5, 7)),
    tie_break_ends=st.sampled_from(("every-6", "after-1-then-every-4")),
)


@st.composite
def played(draw: st.DrawFn) -> list[State]:
    """The states of a match in a random format, stopped at any point; one player may be far stronger."""
    dice = draw(st.randoms(use_true_random=False))
    strength = draw(st.sampled_from((0.05, 0.35, 0.5, 0.65, 0.95)))
    states = [State(draw(formats), server=draw(st.sampled_from((*SIDES, None))))]
    for _ in range(draw(st.integers(0, 400))):
        if states[-1].winner is not None:
            break
        states.append(after(states[-1], "own" if dice.random() < strength else "opponent"))
    return states
