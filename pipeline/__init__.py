"""What the cooperative's records go through, from sheets to statements and reports."""

import os

# Nothing here multiplies matrices: threads for that would only spin while numpy and scipy load.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
