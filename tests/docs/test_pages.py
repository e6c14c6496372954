"""What the pages show is what the service answers, and what the import contract and the rules say."""

import re
import runpy
from pathlib import Path
from typing import Any

import pytest

from tacticapi.api import create_app
from tacticapi.pricing.price import serve_points

DOCS = Path(__file__).parents[2] / "docs"
DRAWING: dict[str, Any] = runpy.run_path(str(DOCS / "architecture_picture.py"))


def test_the_picture_is_the_one_that_the_import_contract_gives():
    assert (DOCS / "architecture.svg").read_text(encoding="utf-8") == DRAWING["picture"]()


def test_every_folder_stands_in_the_picture_once():
    drawn = [folder for layer in DRAWING["layers"]() for folder in layer]
    folders = {found.parent.name for found in DOCS.parent.glob("tacticapi/*/__init__.py")}
    assert sorted(drawn) == sorted(folders | {"posted", "settings"})


def test_the_observation_that_is_followed_moves_the_belief_and_gives_the_reason_told():
    page = (DOCS / "architecture.md").read_text(encoding="utf-8")
    seen = {"what": "rally.against_high_ball", "wing": "backhand", "count": 2, "of": 6}
    body = {"moment": "change-of-ends", "own": {"topspin_height": 3}, "observations": [seen]}
    answer = create_app({}).test_client().post("/v1/suggestions?include=beliefs", json=body).get_json()
    belief = next(b for b in answer["beliefs"] if b["trait"] == "weak_high_backhand")
    told = re.search(r"probability was (\S+) before; these six balls raise it to (\d\.\d\d)", " ".join(page.split()))
    assert told
    assert told.groups() == (f"{belief['prior']:.2f}", f"{belief['probability']:.2f}")
    assert f"{round(1000 * belief['probability'])} permille" in page
    suggestion = next(s for s in answer["suggestions"] if s["tactic"] == "high-ball-to-high-ball-weakness")
    assert f'"{suggestion["because"][0].get("text")}"' in page.replace("\n   ", " ")


PRICES = re.sub(r"\s+", " ", (DOCS / "prices.md").read_text(encoding="utf-8"))


def figures(before: str, after: str) -> list[float]:
    """Return the decimal numbers of the page between two phrases."""
    return [float(number) for number in re.findall(r"\d+\.\d+", PRICES.partition(before)[2].partition(after)[0])]


def test_the_worked_prices_are_those_of_the_rules_and_of_the_service():
    page = (DOCS / "writing-rules.md").read_text(encoding="utf-8")
    assert page == runpy.run_path(str(DOCS / "worked_prices.py"))["worked"](page), "run docs/worked_prices.py"
    assert page.count("points in 100 tried points") == 3


def test_the_price_by_hand_follows_from_the_balls_and_the_rule(rulebook):
    wing, high = figures("By hand: their backhand", "below. ")
    balls = rulebook.balls
    found = balls["high"].finds["wing"] * wing + balls["high"].finds["high"] * high
    ways = [(share, balls[name].finds) for name, share in balls["rally-mix"].of.items()]
    usual = sum(share * (finds.get("wing", 0) * wing + finds.get("high", 0) * high) for share, finds in ways) / 2
    assert figures("1. A high ball", "2. The mix")[-1] == pytest.approx(found)
    assert figures("2. The mix", "3. The")[-1] == pytest.approx(usual)
    price, numbers = rulebook.tactics["high-ball-to-high-ball-weakness"].price, rulebook.defaults["prices"]
    tried = numbers["as_meant"] * numbers["value"] * price.sends[0].per_point * (found - usual)
    assert figures("3. The difference", "4. Over")[-1] == pytest.approx(tried, abs=5e-5)
    assert figures("4. Over all points", ": ")[-1] == pytest.approx(price.share * tried - price.costs, abs=5e-5)


def test_the_serve_by_hand_follows_from_its_shares():
    told = re.search(
        r"With (\d+) in 100 first serves in, (\d+) won behind them, (\d+) double faults and (\d+) won .*? "
        r"(0\.\d+) of your serve points are won\. Ten more .* and two fewer .* make it (0\.\d+)\.",
        PRICES,
    )
    assert told
    first, behind, doubles, second = (int(told[n]) / 100 for n in range(1, 5))
    assert float(told[5]) == pytest.approx(serve_points(first, behind, doubles, second), abs=5e-4)
    assert float(told[6]) == pytest.approx(serve_points(first + 0.1, behind - 0.02, doubles, second), abs=5e-4)


def test_the_sizes_and_limits_on_the_page_are_those_of_the_rules(rulebook):
    numbers = rulebook.defaults["prices"]
    assert figures("the gain in a word:", "**small** below") == list(numbers["size"].values())
    together = numbers["together"]
    assert figures("claim at most `together` of a point:", "The nearer") == [together["club"], together["tour"]]
    assert figures("It must also gain", "per point") == [numbers["speaks"]["gain"]]
    speaks = re.search(r"at least (\d) in 10 such players after the warm-up, (\d) in 10 later", PRICES)
    assert speaks
    assert [int(speaks[1]) / 10, int(speaks[2]) / 10] == [numbers["speaks"]["early"], numbers["speaks"]["later"]]
