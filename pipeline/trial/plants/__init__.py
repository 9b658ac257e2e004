"""The kinds of fault that a trial plants, those of whole groups first: they take the most rows."""

from pipeline.trial.planting import Fault
from pipeline.trial.plants import codes, farms, groups, lots, money, plots, receipts, weights

FAULTS: tuple[Fault, ...] = (
    *groups.FAULTS,
    *weights.FAULTS,
    *codes.FAULTS,
    *receipts.FAULTS,
    *money.FAULTS,
    *plots.FAULTS,
    *lots.FAULTS,
    *farms.FAULTS,
)
BY_KIND: dict[str, Fault] = {fault.kind: fault for fault in FAULTS}
