"""Figures on yield, income and practice, worked out from a season file for reports and pages."""
