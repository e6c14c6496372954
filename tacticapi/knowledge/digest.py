"""One digest for exactly these rules."""

import hashlib
import json
from collections.abc import Sequence
from typing import Any


def digest_of(contents: Sequence[tuple[str, Any]]) -> str:
    """SHA-256 over the canonical JSON of the files (name within its folder, parsed content), as "sha256:…".

    Canonical: keys sorted, no space, text as UTF-8. The order of keys, comments and layout of a file do not matter.
    """
    canonical = json.dumps(contents, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return "sha256:" + hashlib.sha256(canonical.encode()).hexdigest()
