"""Count requests by route, advice by moment, tactics that fired, and rule engine failures.

Each worker counts in its slot's files; a new worker takes over the slot of the worker that it replaces.
"""

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from flask import Response
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest, multiprocess, values

from tacticapi.api.http.middleware import method_name, route_template, seconds_taken
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Inference
from tacticapi.domain.situation import Moment
from tacticapi.rulebook.match_rules import KINDS

EXTENSION = "tacticapi-metrics"
FOLDER_VARIABLE = "PROMETHEUS_MULTIPROC_DIR"
SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0)


class Metrics:
    """The metrics of one application; under `tacticapi serve`, they cover all workers."""

    def __init__(self) -> None:
        own = self._registry = CollectorRegistry()
        self._requests = Counter("tacticapi_requests", "Requests handled.", ["method", "route", "status"], registry=own)
        self._seconds = Histogram(
            "tacticapi_request_seconds", "Seconds until the response.", ["route"], buckets=SECONDS, registry=own
        )
        self._advice = Counter("tacticapi_advice", "Advice computed.", ["moment"], registry=own)
        self._suggestions = Counter("tacticapi_suggestions", "Suggestions shown.", ["tactic"], registry=own)
        self._fallbacks = Counter(
            "tacticapi_evaluator_fallbacks", "Advice that the evaluator gave instead of the rule engine.", registry=own
        )
        self._failures = Counter("tacticapi_engine_failures", "Rule engine failures.", ["kind"], registry=own)
        self.lost = Counter("tacticapi_requests_lost", "Requests during which a worker died.", registry=own)
        for moment in Moment:
            self._advice.labels(moment.value)
        for kind in KINDS:
            self._failures.labels(kind)

    def count_request(self, response: Response) -> Response:
        """Count the request that led to this response."""
        self._requests.labels(method_name(), route_template(), str(response.status_code)).inc()
        self._seconds.labels(route_template()).observe(seconds_taken())
        return response

    def count_advice(self, advice: Advice, inference: Inference) -> None:
        """Count advice with the tactics that it suggests."""
        self._advice.labels(advice.moment.value).inc()
        for suggestion in advice.suggestions:
            self._suggestions.labels(suggestion.tactic).inc()
        if inference.failure is not None:
            self._fallbacks.inc()
            self._failures.labels(inference.failure).inc()

    def text(self) -> bytes:
        """Return all metrics in Prometheus text format."""
        if not getattr(values.ValueClass, "_multiprocess", False):
            return generate_latest(self._registry)
        over_all = CollectorRegistry()
        multiprocess.MultiProcessCollector(over_all, os.environ[FOLDER_VARIABLE])  # type: ignore[no-untyped-call]
        return generate_latest(over_all)


MEMORY = "/dev/shm"  # nosec B108  (a new folder is created in it)


@contextmanager
def counting_folder() -> Iterator[None]:
    """Create a folder for this run's counts, tell the workers through the environment, and delete it afterwards."""
    # in memory if possible: the files are mapped, and a mapped file on a full disk kills the process
    memory = MEMORY if os.access(MEMORY, os.W_OK) else None
    folder, owner = tempfile.mkdtemp(prefix="tacticapi-counts-", dir=memory), os.getpid()
    os.environ[FOLDER_VARIABLE] = folder
    try:
        yield
    finally:
        if os.getpid() == owner:  # a forked worker also gets here when it ends
            os.environ.pop(FOLDER_VARIABLE, None)
            shutil.rmtree(folder, ignore_errors=True)


def free_slot(taken: Iterable[int]) -> int:
    """Return the lowest slot that no live worker uses."""
    used = set(taken)
    return next(slot for slot in range(len(used) + 1) if slot not in used)


def count_in(slot: int | str) -> None:
    """Make this process count in the slot's files. Call this before creating the application."""
    values.ValueClass = values.MultiProcessValue(lambda: slot)  # type: ignore[no-untyped-call]
