"""The queue of the match page by itself, in Node.js."""

import shutil
import subprocess
from pathlib import Path


def test_the_queue_keeps_its_order_doubles_nothing_and_loses_nothing():
    node = shutil.which("node")
    assert node, "this needs Node.js (on Debian: nodejs)"
    tests = Path(__file__).with_name("queue.test.mjs")
    done = subprocess.run([node, "--test", str(tests)], check=False, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "# fail 0" in done.stdout
