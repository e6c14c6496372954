"""Define tacticapi serve: gunicorn workers share the rules that the master process has read and checked."""

import ipaddress
import logging
import os
from typing import Any

import click
from gunicorn.app.base import BaseApplication

from tacticapi import settings
from tacticapi.advice import Adviser
from tacticapi.api.application import made_app  # before the fork, so that workers share the code
from tacticapi.api.http.deployment import local_club_id, settings_of, start_refusal
from tacticapi.api.http.metrics import count_in, counting_folder, free_slot
from tacticapi.api.http.middleware import set_up_logs
from tacticapi.cli import example
from tacticapi.cli.database import check_schema, database_address, refusals_told, sqlite_file
from tacticapi.cli.rules import findings
from tacticapi.club import Services, clubs
from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook.files import RuleFileError, rule_paths
from tacticapi.rulebook.load import load
from tacticapi.rulebook.matcher import Matcher
from tacticapi.store import upgrade
from tacticapi.store.engine import opened

WORKER = "tacticapi.api.http.worker.ProblemWorker"
SERVER_LOG = "tacticapi.api.http.worker.ServerLog"
PROXY_WANTED = (
    "traffic to this address is not encrypted: put a proxy that terminates TLS in front of it and set "
    "TACTICAPI_PROXIES (docs/serving.md)"
)
SPREAD = 10  # workers are replaced up to a tenth later, so that they take turns

log = logging.getLogger(__name__)


def _option(flag: str, setting: settings.Setting[Any], **more: Any) -> Any:
    help_text = f"{setting.meaning[0].upper()}{setting.meaning[1:]}."
    return click.option(
        flag, envvar=setting.name, default=setting.default, show_default=True, show_envvar=True, help=help_text, **more
    )


@click.command(epilog=example("tacticapi serve", "tacticapi serve --host 0.0.0.0 --port 8080 --workers 4"))
@_option("--host", settings.HOST)
@_option("--port", settings.PORT, type=click.IntRange(1, 65535))
@_option("--workers", settings.WORKERS, type=click.IntRange(1, 64))
def serve(host: str, port: int, workers: int) -> None:
    """Serve the API over HTTP.

    Matches are stored in DATABASE_URL, or else in the SQLite file TACTICAPI_DB, which is created if missing.

    As long as no club has a token, a service that only this machine can reach needs none: everyone here shares one
    local club. Other addresses are then refused, unless TACTICAPI_ALLOW_OPEN=1 confirms that something in front keeps
    strangers out. Once there is a token (TACTICAPI_FIRST_TOKEN can set the first), access to stored data requires a
    token.

    If a rule file is invalid, the errors are printed and the server does not start. HUP reloads the rules and keeps the
    old ones if the new ones are invalid. TERM lets current requests finish. The log goes to standard error, one JSON
    object per line; it names no person and contains no token. Exit status 1 if rules, database or settings are
    unusable, 2 for a refused address.
    """
    try:
        settings_of(os.environ)
        options, level = gunicorn_options(host, port, workers), settings.LOG_LEVEL.read()
        rulebook = checked_rulebook()
    except ValueError as error:
        raise click.ClickException(str(error)) from None
    make_ready(host, rulebook)
    set_up_logs(level)
    for complaint in settings.complaints():
        log.warning(complaint)
    if not is_loopback(host) and not settings.PROXIES.read():
        log.info(PROXY_WANTED)
    with counting_folder():
        Server(options, rulebook).run()


def make_ready(host: str, rulebook: Rulebook) -> None:
    """Create or check the database, adopt the first token, and decide whether requests need a token."""
    url, loopback = database_address(), is_loopback(host)
    file = sqlite_file(url)
    if file is not None and not file.exists():
        with refusals_told():
            upgrade(url)
    check_schema(url)
    # no connection or rule engine may cross the fork into the workers, so these services have neither
    with opened(url) as engine, refusals_told():
        services = Services(engine, Adviser(rulebook, Matcher(rulebook, "evaluator")))
        text = settings.FIRST_TOKEN.read()
        if text and (made := clubs.adopt_first_token(services, text)):
            click.echo(f"The first token gives access to club {made.club_id}.", err=True)
        if refusal := start_refusal(services, url, os.environ, loopback=loopback):
            raise click.UsageError(refusal)
        # a proxy on this machine would make strangers look local, so the local club ends with the first token
        if loopback and not clubs.any_token_made(services):
            os.environ[settings.LOCAL.name] = "1"
            local_club_id(services)


def checked_rulebook() -> Rulebook:
    """Return the built-in and house rules, checked as by `tacticapi rules check`. Raises ValueError."""
    try:
        folders = rule_paths()
        rulebook = load(folders)
    except RuleFileError as error:
        raise ValueError(f"the rules cannot be used:\n{error}") from None
    if found := findings(rulebook, folders):
        raise ValueError("\n".join(["the rules cannot be used:", *found]))
    return rulebook


def is_loopback(host: str) -> bool:
    """Return whether only this machine can reach the address."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"


def gunicorn_options(host: str, port: int, workers: int) -> dict[str, Any]:
    """Return the server's settings. Each worker creates its own engine, since an engine must not cross a fork.

    No request header can change the path (`forwarder_headers`). Raises SettingError.
    """
    recycle = settings.RECYCLE.read()
    address = f"[{host}]" if ":" in host and not host.startswith("[") else host
    return {
        "bind": f"{address}:{port}",
        "workers": workers,
        "worker_class": WORKER,
        "preload_app": False,
        "timeout": settings.TIMEOUT.read(),
        "graceful_timeout": settings.GRACE.read(),
        "max_requests": recycle,
        "max_requests_jitter": recycle // SPREAD,
        "pre_fork": _give_slot,
        "post_fork": lambda server, worker: count_in(worker.slot),
        "logger_class": SERVER_LOG,
        "loglevel": settings.LOG_LEVEL.read(),
        "forwarder_headers": "",
        "control_socket_disable": True,
        "proc_name": "tacticapi",
    }


def _give_slot(server: Any, worker: Any) -> None:
    worker.slot = free_slot(other.slot for other in server.WORKERS.values())


class Server(BaseApplication):
    """A gunicorn server configured in code. Its workers inherit the rulebook, and HUP reloads it."""

    def __init__(self, options: dict[str, Any], rulebook: Rulebook) -> None:
        self._options = options
        self._rulebook = rulebook
        super().__init__()

    def load_config(self) -> None:
        """Set the options."""
        for name, value in self._options.items():
            self.cfg.set(name, value)

    def reload(self) -> None:
        """Reload the rules; keep the old ones if the new ones are invalid."""
        super().reload()
        try:
            self._rulebook = checked_rulebook()
        except ValueError as error:
            told = {"faults": str(error).splitlines(), "digest": self._rulebook.digest}
            log.error("the new rules cannot be used; the current rules stay in use", extra=told)

    def load(self) -> Any:
        """Return the application for one worker."""
        return made_app({**settings_of(os.environ), "ADVISER": Adviser(self._rulebook)})
