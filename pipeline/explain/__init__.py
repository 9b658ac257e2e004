"""Where a figure comes from: formula, rows, prices and decisions, down to the cells."""
