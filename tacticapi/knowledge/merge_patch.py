"""JSON merge patch (RFC 7396)."""

from typing import Any


def merge_patch(target: Any, patch: Any) -> Any:
    """`target` with `patch` laid over it (RFC 7396, section 2); neither of them is changed.

    Mappings merge, None removes a field, anything else replaces; lists are replaced whole.
    """
    if not isinstance(patch, dict):
        return patch
    merged = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        else:
            merged[name] = merge_patch(merged.get(name), value)
    return merged
