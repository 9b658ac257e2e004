"""Commands on the kinds of sheet: what each holds, and blank ones to fill in."""

from difflib import get_close_matches
from pathlib import Path

import click

from pipeline.cli.main import json_option
from pipeline.intake.names import LANGUAGES, ORDER


class KindName(click.Choice[str]):
    """The name of a kind, with "_", "-" or a space; a wrong one is refused with what is near."""

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Return the name as it is declared; a usage error where there is no such kind."""
        name = value.strip().casefold().replace("-", "_").replace(" ", "_")
        if name not in ORDER:
            near = get_close_matches(name, ORDER, n=3)
            meant = f" Did you mean {' or '.join(near)}?" if near else ""
            self.fail(f"there is no kind {value!r}.{meant} All: weighbook kinds", param, ctx)
        return name


@click.command()
@click.argument("kind", required=False, type=KindName(ORDER), metavar="[KIND]")
@json_option
@click.option("--schema", is_flag=True, help="Print a Table Schema; for all kinds a Data Package.")
@click.option(
    "--markdown", is_flag=True, help="Print all kinds as pipeline/intake/kinds/README.md."
)
def kinds(kind: str | None, as_json: bool, schema: bool, markdown: bool) -> None:
    """List the kinds of sheet, or the columns of one.

    \b
    Example: weighbook kinds deliveries
    """
    from pipeline.cli import show
    from pipeline.intake import listing
    from pipeline.intake.kinds import kinds as declared
    from pipeline.intake.schema import data_package, table_schema

    chosen = [declared()[kind]] if kind else list(declared().values())
    if schema:
        show.as_json(table_schema(chosen[0]) if kind else data_package())
    elif as_json:
        show.as_json([listing.kind_dict(one) for one in chosen])
    elif markdown:
        click.echo(listing.kinds_markdown(), nl=False)
    elif kind:
        click.echo(f"{chosen[0].title}. {chosen[0].about}\n")
        show.table(
            ("Column", "Type", "Unit", "May be empty", "Example", "What it is"),
            [
                (c.title, c.type, c.unit, "" if c.required else "yes", c.example, c.about)
                for c in chosen[0].columns
            ],
        )
        click.echo(f"\nA blank one: weighbook template {kind}")
    else:
        show.table(
            ("Kind", "What a sheet of it is", "Written by", "Columns"),
            [(one.name, one.title, one.recorded_by, str(len(one.columns))) for one in chosen],
            right="   r",
        )
        click.echo("\nThe columns of one: weighbook kinds deliveries")


@click.command()
@click.argument("kind", type=KindName(ORDER), metavar="KIND")
@click.option(
    "--language",
    type=click.Choice(LANGUAGES),
    default="en",
    show_default=True,
    help="Language of headings, notes and words.",
)
@click.option(
    "--format",
    "file_format",
    type=click.Choice(["xlsx", "csv"]),
    help="Default: as --out ends, else xlsx.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write it. Default: KIND.xlsx in this folder.",
)
def template(kind: str, language: str, file_format: str | None, out: Path | None) -> None:
    """Write a blank sheet of a kind: headings, units, drop-downs and notes.

    \b
    Example: weighbook template deliveries --language fr --out livraisons.xlsx
    """
    from pipeline.intake.kinds import kinds as declared
    from pipeline.intake.template import template_csv, write_template

    ends_in_csv = out is not None and out.suffix.lower() == ".csv"
    chosen = file_format or ("csv" if ends_in_csv else "xlsx")
    path = out or Path(f"{kind}.{chosen}")
    if path.suffix.lower() != f".{chosen}":
        # Under another ending no spreadsheet opens it.
        raise click.UsageError(f"{path} is to be {chosen.upper()}: let its name end in .{chosen}.")
    if path.exists():
        # It may be half filled in.
        raise click.UsageError(f"{path} is there already. Name another with --out.")
    if chosen == "csv":
        path.write_bytes(template_csv(declared()[kind], language))
    else:
        write_template(path, declared()[kind], language)
    click.echo(f"Wrote {path}. Fill it in, then: weighbook take BOOK {path}")
