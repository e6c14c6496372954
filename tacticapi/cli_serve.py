"""tacticapi serve: gunicorn with sync workers that all answer by the rules which the master read and checked."""

import ipaddress
import os
from typing import Any

import click
from gunicorn.app.base import BaseApplication

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.cli_rules import findings
from tacticapi.domain.rulebook import Rulebook
from tacticapi.knowledge import RuleFileError, load, rule_paths

OPEN_VARIABLE = "TACTICAPI_ALLOW_OPEN"
TIMEOUT_S = 30
GRACEFUL_S = 10
WORKER = "tacticapi.api.worker.ProblemWorker"
OPTIONAL = ("control_socket_disable",)  # newer gunicorns only


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8000, show_default=True, type=click.IntRange(1, 65535), help="Port to listen on.")
@click.option("--workers", default=2, show_default=True, type=click.IntRange(1, 64), help="Processes that answer.")
def serve(host: str, port: int, workers: int) -> None:
    """Serve the API over HTTP.

    Everyone who reaches the address may ask, so addresses beyond this machine are refused unless
    TACTICAPI_ALLOW_OPEN=1 says that something in front of it keeps strangers out. Rules with a mistake are told and
    nothing is served. The signal HUP reads the rules again; where they hold a mistake, those in use stay.
    """
    if not is_loopback(host) and os.environ.get(OPEN_VARIABLE) != "1":
        raise click.UsageError(
            f"{host} can be reached from other machines and there is no access control; "
            f"set {OPEN_VARIABLE}=1 if something in front of it keeps strangers out"
        )
    try:
        rulebook = checked_rulebook()
    except UnusableRules as error:
        raise click.ClickException(str(error)) from None
    Server(gunicorn_options(host, port, workers), rulebook).run()


class UnusableRules(Exception):
    """The rules cannot be served; says every mistake with file, line and field."""


def checked_rulebook() -> Rulebook:
    """Our rules and the house's, checked as `tacticapi rules check` does. Raises UnusableRules."""
    try:
        rulebook = load(rule_paths())
    except RuleFileError as error:
        raise UnusableRules(f"the rules cannot be used:\n{error}") from None
    if found := findings(rulebook):
        raise UnusableRules("\n".join(["the rules cannot be used:", *found]))
    return rulebook


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches the address."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"


def gunicorn_options(host: str, port: int, workers: int) -> dict[str, Any]:
    """The server's settings. Each worker makes its own engine, for an engine must not cross a fork.

    No header of a request may stand for the path (`forwarder_headers`), and nobody steers the server by a socket.
    """
    address = f"[{host}]" if ":" in host and not host.startswith("[") else host
    return {
        "bind": f"{address}:{port}",
        "workers": workers,
        "worker_class": WORKER,
        "preload_app": False,
        "timeout": TIMEOUT_S,
        "graceful_timeout": GRACEFUL_S,
        "forwarder_headers": "",
        "control_socket_disable": True,
        "accesslog": "-",
        "proc_name": "tacticapi",
    }


class Server(BaseApplication):
    """gunicorn, told in code what it would read from a file.

    The rulebook is plain data that the workers inherit, so all of them answer by the same rules, one that is started
    anew after an edit too, and an edit counts from the next HUP on.
    """

    def __init__(self, options: dict[str, Any], rulebook: Rulebook) -> None:
        self._options = options
        self._rulebook = rulebook
        super().__init__()

    def load_config(self) -> None:
        """Take over the options that this gunicorn knows."""
        for name, value in self._options.items():
            if name in self.cfg.settings or name not in OPTIONAL:
                self.cfg.set(name, value)

    def reload(self) -> None:
        """Read the rules again; the old ones stay where the new ones hold a mistake."""
        super().reload()
        try:
            self._rulebook = checked_rulebook()
        except UnusableRules as error:
            click.echo(f"{error}\nThe rules in use stay: {self._rulebook.digest}", err=True)

    def load(self) -> Any:
        """The application of one worker."""
        return create_app({"ADVISER": Adviser(self._rulebook)})
