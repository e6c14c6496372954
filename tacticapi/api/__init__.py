"""The service over HTTP: one folder a noun, each with its routes and its schemas.

Not here: what the advice is (tacticapi.advice), what a page shows. Flask and marshmallow stay in this folder.
Next: `app` (the factory), `auth` (who asks), `situations` (what is posted to be advised on), `entries` (what is added
to a match), `problems` (the one error shape), `contract` (OpenAPI).
"""

from tacticapi.api.app import create_app

__all__ = ["create_app"]
