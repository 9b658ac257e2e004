"""What is genuine: a page, a PDF, a code; and what is not once a byte or a figure is changed."""

import os
import shutil

import pytest

from pipeline.book.book import Book
from pipeline.book.keys import book_keys
from pipeline.errors import BookError
from pipeline.issue import issue


@pytest.fixture(scope="module")
def issued(filled, tmp_path_factory):
    book = Book(shutil.copytree(filled.path, tmp_path_factory.mktemp("genuine") / "book"))
    return book, issue(book, "2026", by="Sefa").folder


def statement(folder, kind):
    return sorted(folder.glob(f"statements/*/*.{kind}"))[0]


@pytest.mark.parametrize("kind", ["html", "pdf"])
def test_a_file_as_issued_is_genuine_with_the_public_key_alone(issued, run, tmp_path, kind):
    book, folder = issued
    key = tmp_path / "public.pem"
    key.write_text(run("public-key", book.path).output)
    told = run("genuine", statement(folder, kind), "--key", key)
    assert told.exit_code == 0, told.output
    assert told.output.startswith("Genuine: statement 2026-")
    assert "byte for byte as it was issued" in told.output


@pytest.mark.parametrize("kind", ["html", "pdf"])
def test_a_changed_file_is_not_genuine_and_a_lone_one_says_what_was_signed(
    issued, run, tmp_path, kind
):
    book, folder = issued
    copied = shutil.copytree(folder, tmp_path / "issue")
    path = statement(copied, kind)
    path.write_bytes(path.read_bytes() + b"\n")
    told = run("genuine", path, "--book", book.path)
    assert told.exit_code == 16
    assert "not as it was issued" in told.output
    lone = tmp_path / path.name
    shutil.copyfile(path, lone)
    told = run("genuine", lone, "--book", book.path)
    assert told.exit_code == 0
    assert "Compare these with the paper" in told.output


def test_verify_finds_a_signature_that_is_gone_or_of_another_manifest(issued, run, tmp_path):
    book = Book(shutil.copytree(issued[0].path, tmp_path / "book"))
    assert run("verify", book.path, "--quick").exit_code == 0
    signature = next(book.issued.glob("*/manifest.json.sig"))
    kept = signature.read_text()
    for text in (kept.swapcase(), "no signature\n", None):
        signature.write_text(text) if text else signature.unlink()
        told = run("verify", book.path, "--quick")
        assert told.exit_code != 0
        assert "manifest.json.sig" in told.output


def test_a_changed_manifest_proves_nothing(issued, run, tmp_path):
    book, folder = issued
    copied = shutil.copytree(folder, tmp_path / "issue")
    manifest = copied / "manifest.json"
    manifest.write_text(manifest.read_text().replace("2026-", "2025-", 1))
    told = run("genuine", statement(copied, "pdf"), "--book", book.path)
    assert told.exit_code == 16
    assert "proves nothing" in told.output


def test_what_holds_no_code_is_told_so(issued, run):
    book, _ = issued
    told = run("genuine", "1*2*3", "--book", book.path)
    assert told.exit_code == 16
    assert "Not genuine" in told.output


@pytest.mark.parametrize("what", ["hello", "nobody.pdf"])
def test_a_file_that_is_not_there_is_not_called_false(issued, run, what):
    book, _ = issued
    told = run("genuine", what, "--book", book.path)
    assert told.exit_code == 9
    assert f"There is no file {what}." in told.output


def test_without_book_or_key_it_says_what_is_needed(run):
    assert "--key" in run("genuine", "1*2").output


def test_the_key_is_its_owner_s_alone_and_stays_the_same(issued):
    book, _ = issued
    path = book.path / "keys" / "sign.pem"
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.parent.stat().st_mode & 0o777 == 0o700
    assert book_keys(book).raw == book_keys(book).raw


@pytest.mark.skipif(os.name != "posix", reason="permissions are POSIX's")
def test_a_key_that_others_can_read_signs_nothing(issued, tmp_path):
    book = Book(shutil.copytree(issued[0].path, tmp_path / "book"))
    path = book.path / "keys" / "sign.pem"
    path.chmod(0o644)
    with pytest.raises(BookError, match="can be read by others"):
        book_keys(book)
    path.chmod(0o600)
    path.write_text("no key")
    with pytest.raises(BookError, match="no Ed25519 key"):
        book_keys(book)
