"""The most memory that this process has held."""

import sys
from pathlib import Path


def peak_mib() -> float:
    """Return the largest resident size of this process so far, in MiB; 0 where none can be had."""
    status = Path("/proc/self/status")
    if status.exists():
        # Not getrusage: under Linux a new process begins with the peak of the one that made it.
        for line in status.read_text("utf-8").splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024
    try:
        import resource
    except ImportError:
        return 0.0
    unit = 1 << 20 if sys.platform == "darwin" else 1 << 10
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
