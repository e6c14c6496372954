"""The published contract: OpenAPI 3.1 from the code, the vocabulary as schemas, six recorded examples.

Not here: what a request or answer holds: each noun's own `schemas`.
Next: `contract` (the extension), `vocabulary` (kinds as JSON Schema), `document` (the file).
"""

from tacticapi.api.contract.contract import Contract
from tacticapi.api.contract.document import document, yaml_text

__all__ = ["Contract", "document", "yaml_text"]
