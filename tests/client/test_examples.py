"""The examples of the documentation run as they stand, one after the other."""

import re
from pathlib import Path
from uuid import uuid4

DOCUMENT = Path(__file__).parents[2] / "docs" / "client.md"
ADDRESS = "http://127.0.0.1:8000"
EXAMPLE = re.compile(r"^```python\n(.*?)^```$", re.DOTALL | re.MULTILINE)


def test_the_examples_run(service, capsys):
    text = DOCUMENT.read_text(encoding="utf-8")
    assert ADDRESS in text
    own_names = {ADDRESS: service, '"Larch"': f'"Larch {uuid4()}"', '"Sleet"': f'"Sleet {uuid4()}"'}
    names: dict[str, object] = {}
    examples = list(EXAMPLE.finditer(text))
    assert len(examples) >= 9
    for example in examples:
        lines_before = text[: example.start(1)].count("\n")
        code = "\n" * lines_before + example[1]
        for written, here in own_names.items():
            code = code.replace(written, here)
        exec(compile(code, str(DOCUMENT), "exec"), names)
    said = capsys.readouterr().out
    for words in ("After warm-up", "1 added\n2 /count expected", "/moment one of before-match"):
        assert words in said
