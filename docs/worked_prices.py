"""Fill in the figures of our rules in the worked prices in docs/writing-rules.md: `python docs/worked_prices.py`.

The text around the figures is left as it is.
"""

import re
import tempfile
from pathlib import Path
from textwrap import dedent

from click.testing import CliRunner

from tacticapi.cli import main
from tacticapi.rulebook.files import our_rules

PAGE = Path(__file__).parent / "writing-rules.md"
WORKED = re.compile(
    r"(<<'END'\n(?P<body>.*?)END\ntacticapi rules explain (?P<tactic>\S+) \S+\n```\n\n```text\n)(?P<told>.*?)```",
    re.DOTALL,
)


def worked(page: str) -> str:
    """Return the page with the prices as the rules state them, and the end of each answer as the service returns it."""
    return WORKED.sub(
        lambda found: f"{found[1]}{_stated(found['tactic'])}\n{_answered(found['tactic'], found['body'])}```", page
    )


def _answered(tactic: str, body: str) -> str:
    with tempfile.NamedTemporaryFile("w", suffix=".json") as file:
        file.write(body)
        file.flush()
        told = CliRunner().invoke(main, ["rules", "explain", tactic, file.name], catch_exceptions=False).stdout
    return re.sub(r"^  ", "", told[told.index("  points in 100 tried points") :], flags=re.MULTILINE)


def _stated(tactic: str) -> str:
    """Return the price as written in the rule file."""
    rules = "".join(path.read_text(encoding="utf-8") for path in (our_rules() / "tactics").glob("*.yaml"))
    price = re.search(r"^    price:\n(?:      .*\n)+", rules[rules.index(f"  - id: {tactic}\n") :], re.MULTILINE)
    return dedent(price[0]) if price else ""


if __name__ == "__main__":
    PAGE.write_text(worked(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
