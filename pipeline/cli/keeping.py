"""Commands for whoever looks after a book: work it out anew, prove it, list the rules."""

from pathlib import Path

import click

from pipeline.cli.main import book_argument, json_option


@click.command()
@book_argument
@json_option
def rebuild(book: Path, as_json: bool) -> None:
    """Work every season out anew from the kept sheets and the journal.

    \b
    Example: weighbook rebuild ridge-book
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.upkeep import rebuild as work_out_anew

    made = work_out_anew(open_book(book))
    if as_json:
        show.as_json({"seasons": [path.name for path in made]})
    else:
        click.echo(f"Worked out anew: {', '.join(path.name for path in made)}")


@click.command()
@book_argument
@click.option("--quick", is_flag=True, help="Without working the seasons out anew to compare.")
@json_option
def verify(book: Path, quick: bool, as_json: bool) -> None:
    """Prove the book's promises: nothing lost, nothing twice, it adds up, same in same out.

    Ends with 5 where a promise is broken.

    \b
    Example: weighbook verify ridge-book
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.errors import DamageError
    from pipeline.verify import verify as prove

    result = prove(open_book(book), rebuild=not quick)
    if as_json:
        show.as_json(result)
    else:
        for name, promise in result["promises"].items():
            figures = ", ".join(
                f"{key.replace('_', ' ')} {value:,}"
                for key, value in promise.items()
                if isinstance(value, int) and not isinstance(value, bool)
            )
            click.echo(
                f"{'holds ' if promise['ok'] else 'BROKEN'}  {name.replace('_', ' ')}: {figures}"
            )
            for fault in promise["faults"][:20]:
                click.echo(f"        {fault}")
        click.echo("Every promise holds." if result["ok"] else "A promise is broken: see above.")
    if not result["ok"]:
        raise click.exceptions.Exit(DamageError.exit_code)


@click.command()
@click.option("--markdown", is_flag=True, help="As checks/README.md holds them.")
@json_option
def rules(markdown: bool, as_json: bool) -> None:
    """List every rule: what it looks at, its limits with their sources, what it says.

    \b
    Example: weighbook rules --markdown > checks/README.md
    """
    from checks.listing import rule_dicts, rule_list
    from pipeline.cli import show

    if as_json:
        show.as_json(rule_dicts())
    elif markdown:
        click.echo(rule_list(), nl=False)
    else:
        rows = [(r["code"], r["severity"].replace("_", " "), r["says"]) for r in rule_dicts()]
        show.table(("Rule", "Row is", "It says"), rows)
