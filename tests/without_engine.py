"""A plugin for pytest under which durable-rules does not import, as on a newer Python: the evaluator serves.

python -m pytest -p tests.without_engine
"""

import sys

sys.modules["durable_rules_engine"] = None  # type: ignore[assignment]  # importing it fails from now on

from tacticapi.rulebook import matcher  # noqa: E402

matcher.ENGINE_FITS = False
