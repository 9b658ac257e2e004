"""What every process of the service does first: it ends when its supervisor is gone."""

import os
import signal
import threading

# After so long the process is ended as it stands: what it was about is made up at the next start.
GRACE_S = 15.0


def end_with_parent() -> None:
    """End this process once its standard input ends, which the supervisor holds open."""
    threading.Thread(target=_watch, daemon=True, name="end-with-parent").start()


def _watch() -> None:
    try:
        # Below the buffer of sys.stdin, whose lock would be held when Python ends.
        while os.read(0, 4096):
            pass
    except OSError:
        pass
    threading.Timer(GRACE_S, os._exit, (1,)).start()
    signal.raise_signal(signal.SIGTERM)
