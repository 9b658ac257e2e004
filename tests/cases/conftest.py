import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update-cases",
        action="store_true",
        help="write each case's expected.txt anew; read what changed before you keep it",
    )
