"""A payment file for the bank: ISO 20022 pain.001.001.09, with creditor references."""

import re
from collections.abc import Sequence
from datetime import date
from functools import cache
from importlib import resources
from xml.etree.ElementTree import Element, SubElement, indent, register_namespace, tostring

import xmlschema
from stdnum import iban

from pipeline.errors import PostingError
from pipeline.money import money_text
from pipeline.payees import Payee
from pipeline.settings import Settings

SPACE = "urn:iso:std:iso:20022:tech:xsd:pain.001.001.09"
# ISO 20022: an account that is no IBAN is a Max34Text.
MOST_IN_ACCOUNT = 34
# Bank identifier code as the schema has it (ISO 9362).
_BIC = re.compile(r"[A-Z0-9]{4}[A-Z]{2}[A-Z0-9]{2}([A-Z0-9]{3})?")


def pain_001(list_no: str, day: date, paid: Sequence[Payee], settings: Settings, at: str) -> bytes:
    """Return the file as XML, with the number of transfers and their sum stated twice.

    `at`: the instant it was made, UTC. PostingError where the schema does not allow what the
    register or book.toml holds. Source: ISO 20022; the schema is that of package `sepaxml`.
    """
    count = str(len(paid))
    total = _amount(sum(one.amount_minor for one in paid), settings)
    payer = settings.paying.payer or settings.name
    document = Element(f"{{{SPACE}}}Document")
    start = _put(document, "CstmrCdtTrfInitn")
    head = _put(start, "GrpHdr")
    _put(head, "MsgId", list_no)
    _put(head, "CreDtTm", at.removesuffix("Z") + "Z")
    _put(head, "NbOfTxs", count)
    _put(head, "CtrlSum", total)
    _put(head, "InitgPty/Nm", payer[:140])
    batch = _put(start, "PmtInf")
    _put(batch, "PmtInfId", list_no)
    _put(batch, "PmtMtd", "TRF")
    _put(batch, "NbOfTxs", count)
    _put(batch, "CtrlSum", total)
    _put(batch, "ReqdExctnDt/Dt", day.isoformat())
    _put(batch, "Dbtr/Nm", payer[:140])
    _account(_put(batch, "DbtrAcct/Id"), settings.paying.account, "[paying] in book.toml")
    agent = _put(batch, "DbtrAgt/FinInstnId")
    if _BIC.fullmatch(settings.paying.agent):
        _put(agent, "BICFI", settings.paying.agent)
    else:
        _put(agent, "Othr/Id", settings.paying.agent or "NOTPROVIDED")
    for one in paid:
        _transfer(_put(batch, "CdtTrfTxInf"), one, settings)
    indent(document)
    register_namespace("", SPACE)
    content: bytes = tostring(document, encoding="utf-8", xml_declaration=True)
    _must_be_valid(content)
    return content


def _transfer(into: Element, one: Payee, settings: Settings) -> None:
    _put(into, "PmtId/EndToEndId", one.payment_no)
    amount = _put(into, "Amt/InstdAmt", _amount(one.amount_minor, settings))
    amount.set("Ccy", settings.currency)
    if one.account_at:
        _put(into, "CdtrAgt/FinInstnId/Nm", one.account_at[:140])
    _put(into, "Cdtr/Nm", one.name[:140])
    _account(_put(into, "CdtrAcct/Id"), one.account, f"member {one.member_no}, {one.name}")
    creditor = _put(into, "RmtInf/Strd/CdtrRefInf")
    _put(creditor, "Tp/CdOrPrtry/Cd", "SCOR")
    _put(creditor, "Ref", one.reference)


def _put(into: Element, path: str, text: str | None = None) -> Element:
    """Add an element, and those above it that are named before it; return the last."""
    for name in path.split("/"):
        into = SubElement(into, f"{{{SPACE}}}{name}")
    into.text = text
    return into


def _account(into: Element, account: str, whose: str) -> None:
    """Add an account; PostingError where it does not fit: cut off, it would be another one."""
    plain = re.sub(r"\s", "", account)
    if iban.is_valid(plain):
        _put(into, "IBAN", iban.compact(plain))
    else:
        if len(plain) > MOST_IN_ACCOUNT:
            raise PostingError(
                f"Account {plain!r} of {whose}: {len(plain)} characters, and a payment file holds "
                f"{MOST_IN_ACCOUNT}. Correct it there, or pay without the bank; nothing was "
                "written."
            )
        _put(into, "Othr/Id", plain)


def _amount(minor: int, settings: Settings) -> str:
    return money_text(minor, settings.decimals).replace(",", "")


@cache
def schema() -> xmlschema.XMLSchema:
    """Return the schema that a file must fit, as package `sepaxml` carries it."""
    path = resources.files("sepaxml").joinpath("schemas/pain.001.001.09.xsd")
    return xmlschema.XMLSchema(path.read_text("utf-8"))


def _must_be_valid(content: bytes) -> None:
    try:
        schema().validate(content.decode())
    except xmlschema.XMLSchemaValidationError as error:
        raise PostingError(
            f"The payment file would not be valid: {error.reason}, at {error.path}. Correct the "
            "register or [paying] in book.toml; nothing was written."
        ) from None
