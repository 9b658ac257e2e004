"""The commands that back a book up, bring it back, and prove that this works."""

from pathlib import Path

import click

from pipeline.cli.main import book_argument, json_option


def _key_option(command: click.decorators.FC) -> click.decorators.FC:
    return click.option(
        "--key-file",
        default="",
        help="A file with the passphrase, kept apart; else WEIGHBOOK_BACKUP_KEY.",
    )(command)


def _snapshot_option(command: click.decorators.FC) -> click.decorators.FC:
    return click.option(
        "--snapshot", default="", help="Which one; the latest where none is named."
    )(command)


@click.command()
@book_argument
@click.argument("dest")
@_key_option
@json_option
def backup(book: Path, dest: str, key_file: str, as_json: bool) -> None:
    """Back a book up to DEST, while work goes on; only what is new is written.

    DEST is a folder on another disk, or storage such as s3://bucket/folder. With a passphrase the
    backup is sealed (AES-256): nobody reads it without, and nobody can bring the passphrase back.

    \b
    Example: weighbook backup ridge-book /media/usb/ridge --key-file ridge.key
    """
    from pipeline.backup.backup import back_up
    from pipeline.backup.seal import read_key
    from pipeline.book.book import open_book
    from pipeline.cli import show

    key = read_key(key_file)
    done = back_up(open_book(book), dest, key=key)
    if as_json:
        show.as_json(done)
        return
    click.echo(
        f"{done.snapshot}: {done.files:,} files, {done.bytes:,} bytes, up to line "
        f"{done.journal_n} of the journal; {done.new_bytes:,} bytes new, written and read back."
    )
    if not key:
        click.echo("It is not sealed: whoever has the disk reads it. Seal it with --key-file.")


@click.command()
@click.argument("source")
@book_argument
@_key_option
@_snapshot_option
@click.option("--list", "listed", is_flag=True, help="List the snapshots and restore nothing.")
@json_option
def restore(
    source: str, book: Path, key_file: str, snapshot: str, listed: bool, as_json: bool
) -> None:
    """Bring a book back from the backup SOURCE into the new folder BOOK, and prove it.

    \b
    Example: weighbook restore /media/usb/ridge ridge-book --key-file ridge.key
    """
    from pipeline.backup.restore import restore as bring_back
    from pipeline.backup.seal import read_key
    from pipeline.cli import show

    if listed:
        from pipeline.backup.backup import snapshots
        from pipeline.backup.place import Place

        names = snapshots(Place(source))
        show.as_json(names) if as_json else click.echo("\n".join(names))
        return
    done = bring_back(source, book, key=read_key(key_file), snapshot=snapshot)
    if as_json:
        show.as_json(done)
        return
    click.echo(
        f"{done.book} is back as it was at {done.at}: {done.files:,} files, {done.journal_n} lines "
        "of the journal. Every promise holds. Look at it, then put it in the old one's place."
    )


@click.command()
@book_argument
@click.argument("dest")
@_key_option
@_snapshot_option
@json_option
def drill(book: Path, dest: str, key_file: str, snapshot: str, as_json: bool) -> None:
    """Prove that the backup in DEST gives the same statements as the book; nothing is changed.

    Ends with 14 where anything differs. Do it once a season, and from another machine.

    \b
    Example: weighbook drill ridge-book /media/usb/ridge --key-file ridge.key
    """
    from pipeline.backup.restore import drill as prove
    from pipeline.backup.seal import read_key
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.errors import BackupError

    done = prove(open_book(book), dest, key=read_key(key_file), snapshot=snapshot)
    if as_json:
        show.as_json(done)
    else:
        click.echo(
            f"{done.snapshot}: {done.files:,} files, {done.tables} tables and {done.documents:,} "
            f"documents compared, {len(done.differing)} differ."
        )
        for one in done.differing[:20]:
            click.echo(f"    {one}")
    if done.differing:
        raise click.exceptions.Exit(BackupError.exit_code)
