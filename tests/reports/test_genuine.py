"""The code on a statement: read back from print, and refused once anything is changed."""

import datetime as dt
import io
import subprocess

import pytest
import zxingcpp
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from PIL import Image

from reports.genuine import NotGenuine, Signed, code, read_code
from reports.statement_paper import statement_pdf

SAID = Signed(
    number="2026-10427-1", day="2026-10-12", name="Ŋala *Ɓoro*", kg="99.600", currency="USD",
    value="242.34", balance="-62.66",
)  # fmt: skip


def test_the_code_says_what_was_signed_and_is_the_same_each_time(key):
    text = code(SAID, key.sign)
    assert text == code(SAID, key.sign)
    read = read_code(text, key.public_key())
    assert read.name == "Ŋala  Ɓoro "
    assert (read.number, read.value, read.balance) == ("2026-10427-1", "242.34", "-62.66")


@pytest.mark.parametrize(
    "changed",
    [
        lambda text: text.replace("242.34", "942.34"),
        lambda text: text.replace("*USD*", "*XXX*"),
        lambda text: text[:-4],
        lambda text: text[1:],
        lambda text: "",
        lambda text: text.rpartition("*")[0] + "*",
        lambda text: text + "ŋ",
    ],
)
def test_a_changed_code_is_not_genuine(key, changed):
    with pytest.raises(NotGenuine):
        read_code(changed(code(SAID, key.sign)), key.public_key())


def test_another_cooperative_s_key_does_not_pass(key):
    other = Ed25519PrivateKey.from_private_bytes(bytes(32))
    with pytest.raises(NotGenuine, match="another key"):
        read_code(code(SAID, other.sign), key.public_key())


def test_the_code_is_read_off_the_printed_page(models, key, tmp_path):
    model = models["1001"]
    pdf = statement_pdf(model, day=dt.date(2026, 10, 12), subject="1001")
    (tmp_path / "one.pdf").write_bytes(pdf)
    # 100 points an inch: less than the oldest camera gives.
    printed = subprocess.run(
        ["pdftoppm", "-r", "100", "-f", "1", "-l", "1", "-png", tmp_path / "one.pdf"],
        capture_output=True, check=True,
    ).stdout  # fmt: skip
    (found,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(printed)))
    assert found.text == model["issue"]["signature"]
    read = read_code(found.text, key.public_key())
    assert (read.number, read.name) == ("2026-1001-1", "Ŋala Ɓoro")
    assert f"{float(read.value):,.2f}" in model["figures"][1]["value"]
