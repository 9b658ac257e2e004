"""The command line. Nothing heavy is imported before a command needs it."""

from pipeline.cli.main import main

__all__ = ["main"]
