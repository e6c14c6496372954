"""`tacticapi`, whose rule engine or process breaks when the file that FRAGILE names says so, once.

crash: the engine crashes as a C extension does · hang: it never comes back, whatever the master asks ·
loop: the worker never comes back, but listens to the master · commit: the process dies right after a commit.
"""

import os
import signal
import time
from pathlib import Path
from typing import Any

from tacticapi.cli import main
from tacticapi.rulebook.engine import Engine
from tacticapi.store.repositories import UnitOfWork

ORDER = Path(os.environ["FRAGILE"])
FOREVER_S = 600
run, leave = Engine.run, UnitOfWork.__exit__


def ordered(*breaks: str) -> str | None:
    """What is to break now; the order is then done with."""
    what = ORDER.read_text() if ORDER.exists() else None
    if what in breaks:
        ORDER.unlink()
        return what
    return None


def fragile_run(self: Engine, facts: Any) -> Any:
    match ordered("crash", "hang", "loop"):
        case "crash":
            os.kill(os.getpid(), signal.SIGSEGV)
        case "hang":
            signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGABRT, signal.SIGTERM, signal.SIGQUIT})
            time.sleep(FOREVER_S)
        case "loop":
            time.sleep(FOREVER_S)
    return run(self, facts)


def fragile_exit(self: UnitOfWork, error: type[BaseException] | None, *raised: object) -> None:
    leave(self, error, *raised)
    if error is None and not self.read_only and ordered("commit"):
        os.kill(os.getpid(), signal.SIGKILL)


Engine.run = fragile_run
UnitOfWork.__exit__ = fragile_exit

if __name__ == "__main__":
    main()
