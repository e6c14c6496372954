"""tacticapi serve: gunicorn with sync workers, each with its own rulebook and engine."""

import ipaddress
import os
from typing import Any

import click
from gunicorn.app.base import BaseApplication

from tacticapi.api import create_app

OPEN_VARIABLE = "TACTICAPI_ALLOW_OPEN"
TIMEOUT_S = 30
GRACEFUL_S = 10


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8000, show_default=True, type=click.IntRange(1, 65535), help="Port to listen on.")
@click.option("--workers", default=2, show_default=True, type=click.IntRange(1, 64), help="Processes that answer.")
def serve(host: str, port: int, workers: int) -> None:
    """Serve the API over HTTP.

    Everyone who reaches the address may ask, so addresses beyond this machine are refused unless
    TACTICAPI_ALLOW_OPEN=1 says that something in front of it keeps strangers out.
    """
    if not is_loopback(host) and os.environ.get(OPEN_VARIABLE) != "1":
        raise click.UsageError(
            f"{host} can be reached from other machines and there is no access control; "
            f"set {OPEN_VARIABLE}=1 if something in front of it keeps strangers out"
        )
    Server(gunicorn_options(host, port, workers)).run()


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches the address."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"


def gunicorn_options(host: str, port: int, workers: int) -> dict[str, Any]:
    """The server's settings; each worker loads the rules itself, for an engine must not cross a fork."""
    address = f"[{host}]" if ":" in host and not host.startswith("[") else host
    return {
        "bind": f"{address}:{port}",
        "workers": workers,
        "worker_class": "sync",
        "preload_app": False,
        "timeout": TIMEOUT_S,
        "graceful_timeout": GRACEFUL_S,
        "accesslog": "-",
        "proc_name": "tacticapi",
    }


class Server(BaseApplication):
    """gunicorn, told in code what it would read from a file."""

    def __init__(self, options: dict[str, Any]) -> None:
        self._options = options
        super().__init__()

    def load_config(self) -> None:
        """Take over the options."""
        for name, value in self._options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        """The application of one worker."""
        return create_app()
