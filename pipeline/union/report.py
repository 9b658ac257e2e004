"""The union's report: DuckDB over the summaries of all books."""

import json
from pathlib import Path
from typing import Any

import duckdb
import fsspec

from pipeline.book.book import write_whole
from pipeline.season.tables import dicts, refuse_wrong_sums
from pipeline.union.summary import Summarised, union_sql

# It has no types of its own.
_fsspec: Any = fsspec


def books_in(where: str) -> list[str]:
    """Return the folders or addresses of all books below a folder or bucket, in their order."""
    local = "://" not in where
    fs, root = _fsspec.url_to_fs(str(Path(where).absolute()) if local else where)
    if not fs.exists(root):
        return []
    scheme = "" if local else where.partition("://")[0] + "://"
    found = [
        str(path)
        for path in fs.ls(root, detail=False)
        if fs.exists(f"{str(path).rstrip('/')}/journal.jsonl")
    ]
    return sorted(f"{scheme}{path.rstrip('/')}" for path in found)


def write_report(out: Path, done: list[Summarised]) -> dict[str, Any]:
    """Add the summaries of the books up, and write report.json whole."""
    names = [one.book for one in done if not one.trouble]
    files = [str(out / "seasons" / f"{name}.parquet") for name in names]
    present = [file for file in files if Path(file).exists()]
    report: dict[str, Any] = {
        "books": len(names),
        "not_read": {one.book: one.trouble for one in done if one.trouble},
        "seasons": [],
        "by_book": [],
    }
    if present:
        with duckdb.connect() as con:
            refuse_wrong_sums(con)
            report["seasons"] = dicts(con, union_sql("report_seasons"), {"files": present})
            report["by_book"] = dicts(con, union_sql("report_books"), {"files": present})
    text = json.dumps(report, indent=1, ensure_ascii=False, default=str) + "\n"
    write_whole(out / "report.json", text.encode())
    return report
