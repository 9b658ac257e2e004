"""Where the sample sheets are: in the checkout, or inside the installed package."""

from pathlib import Path

from pipeline.errors import BookError


def sample_inputs() -> Path:
    """Return the folder of sample sheets; BookError where the installation has none."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_sample_inputs", package.parent / "sample_inputs"):
        if (folder / "book.toml").is_file():
            return folder
    raise BookError("The sample sheets are not installed. Run this from a checkout.")
