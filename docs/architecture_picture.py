"""Draw docs/architecture.svg from the import contract: python docs/architecture_picture.py > docs/architecture.svg.

docs/architecture.md says what the folders contain; the contract is `[tool.importlinter]` in pyproject.toml.
"""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

ROAD = ("api", "evidence", "rulebook", "pricing", "advice", "api")  # the steps of one request, in their order
WIDTH, ROW, BOX, GAP, LEFT = 760, 62, 34, 10, 10
STYLE = """
  rect { fill: #eef1f3; stroke: #607d8b }
  rect.road { fill: #fff3d6; stroke: #b26a00; stroke-width: 1.5 }
  text { font: 13px sans-serif; fill: #20292e; text-anchor: middle }
  text.note { font-size: 11px; fill: #506068; text-anchor: start }
  text.step { font-weight: bold; fill: #8a4b00 }
"""


def layers() -> list[list[str]]:
    """Return the folders of each layer in the contract, top layer first."""
    pyproject = Path(__file__).parents[1] / "pyproject.toml"
    contracts = tomllib.loads(pyproject.read_text(encoding="utf-8"))["tool"]["importlinter"]["contracts"]
    contract = next(one for one in contracts if one["type"] == "layers")
    return [re.findall(r"\w+", layer) for layer in contract["layers"]]


def boxes(row: int, folders: list[str]) -> Iterator[str]:
    """Yield one layer: a box per folder, with the numbers of its steps."""
    width = (WIDTH - 2 * LEFT - GAP * (len(folders) - 1)) / len(folders)
    for place, folder in enumerate(folders):
        x, y = LEFT + place * (width + GAP), 34 + row * ROW
        steps = ", ".join(str(step) for step, name in enumerate(ROAD, 1) if name == folder)
        kind = ' class="road"' if steps else ""
        yield f'<rect{kind} x="{x:.0f}" y="{y}" width="{width:.0f}" height="{BOX}" rx="4"/>'
        middle = x + width / 2
        if steps:
            yield f'<text class="step" x="{middle:.0f}" y="{y + 22}">{steps} &#183; {folder}</text>'
        else:
            yield f'<text x="{middle:.0f}" y="{y + 22}">{folder}</text>'


def picture() -> str:
    """Return the whole picture as SVG."""
    rows = layers()
    height = 34 + len(rows) * ROW
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" aria-labelledby="t">',
        '<title id="t">The folders of tacticapi in layers; the numbers are the steps of one request</title>',
        f"<style>{STYLE}</style>",
        f'<rect x="0" y="0" width="{WIDTH}" height="{height}" style="fill: #fff; stroke: none"/>',
        f'<text class="note" x="{LEFT}" y="20">A folder may import what stands below its layer; '
        "api, web and cli also one another. Numbers: the steps of one request.</text>",
    ]
    for row, folders in enumerate(rows):
        lines += boxes(row, folders)
        if row + 1 < len(rows):
            y = 34 + row * ROW + BOX
            lines.append(f'<path d="M{WIDTH // 2} {y + 5}v14m-4 -6l4 6 4 -6" fill="none" stroke="#607d8b"/>')
    return "\n".join([*lines, "</svg>", ""])


if __name__ == "__main__":
    print(picture(), end="")
