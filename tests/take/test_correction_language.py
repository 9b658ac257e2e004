"""Correction sheets speak the language of the sheet that they correct, and come back in it."""

import csv
import zipfile
from pathlib import Path

import fastexcel
import pytest

from pipeline.book.book import Book
from pipeline.corrections import write_corrections
from pipeline.intake.kinds import kinds
from pipeline.verify import verify
from tests.take.small import ASHA, SOUND, ask, sheet, taken

FRENCH = SOUND["weighings"] | {"form": "parche"}
SPOILT = (
    {"gross_kg": "6l.2"},
    {"recorder": ""},
    {"moisture_pct": "41", "form": "cerise sèche"},
    {"station": "KEZ"},
)
MENDED = (
    {"gross_kg": "61.2"},
    {"recorder": "Ibo Marren"},
    {"moisture_pct": "11.4", "form": "parche"},
    {"station": "KES"},
)


def written(path: Path, language: str, sound: dict[str, str]) -> Path:
    """A week's sheet in a language: a good row, then the spoilt ones."""
    columns = kinds()["weighings"].columns
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow([column.spellings[language][0] for column in columns])
        for number, changed in enumerate(({}, *SPOILT), start=1):
            cells = sound | {"receipt_no": str(number)} | changed
            out.writerow([cells.get(column.name, "") for column in columns])
    return path


def read(path: Path) -> list[list[str]]:
    """Headings and rows of a correction sheet, all as text."""
    page = fastexcel.read_excel(path).load_sheet(0, header_row=None, dtypes="string")
    return [[cell or "" for cell in row] for row in page.to_polars().rows()]


def test_a_french_sheet_is_sent_back_in_french_and_taken_mended(book: Book, tmp_path: Path) -> None:
    whole = written(tmp_path / "pesees_KES_2026-W19.csv", "fr", FRENCH)
    result = taken(book, whole)[0]
    assert (result.kind, result.counted, result.sent_back) == ("weighings", 1, 4)
    (path,) = write_corrections(book)
    assert fastexcel.read_excel(path).sheet_names == ["Corrections"]
    headings, *rows = read(path)
    assert headings[-4:] == ["Feuille", "Ligne", "Ce qui ne va pas", "Que faire"]
    assert [row[-2:] for row in rows] == [
        [
            "Poids brut : La cellule a une lettre à la place d'un chiffre.",
            "Saisissez-la avec des chiffres seulement : 61.2 ?",
        ],
        ["Rédacteur : La cellule est vide, et elle est nécessaire.", "Remplissez-la."],
        [
            "Humidité : Une humidité de 41 % n'est pas possible pour « cerise sèche » : ce café "
            "contient de 5 à 30 %.",
            "Cherchez une faute de frappe, comme 41 pour 11.4, ou mesurez de nouveau.",
        ],
        [
            "Station : Aucune station n'a le code KEZ. Proche : KES (Kessim).",
            "Corrigez le code, ou déclarez la station dans book.toml.",
        ],
    ]
    names = [column.name for column in kinds()["weighings"].columns]
    for row, mended in zip(rows, MENDED, strict=True):
        for name, cell in mended.items():
            row[names.index(name)] = cell
    back = tmp_path / "retour.csv"
    with back.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([headings, *rows])
    result = taken(book, back)[0]
    assert (result.arrived, result.counted) == (4, 4)
    assert write_corrections(book) == []
    assert ask(book, "select deliveries from member_season where member_no = ?", ASHA) == [(5,)]
    assert verify(book)["ok"]


@pytest.mark.parametrize(
    ("language", "form", "named", "empty", "unknown"),
    [
        ("es", "pergamino", "Correcciones", "La celda está vacía", "Ninguna estación tiene"),
        ("pt", "pergaminho", "Correções", "A célula está vazia", "Nenhuma estação tem"),
        ("sw", "kahawa ya maganda", "Masahihisho", "Kisanduku ni kitupu", "Hakuna kituo chenye"),
    ],
)
def test_each_sheet_of_a_book_is_sent_back_in_its_own_language(
    book: Book, tmp_path: Path, language: str, form: str, named: str, empty: str, unknown: str
) -> None:
    sound = SOUND["weighings"] | {"form": form, "species": "arabica"}
    week = tmp_path / "one_KES_2026-W19.csv"
    english = sheet(
        tmp_path, "two_KES_2026-W20.csv", "weighings", [{"receipt_no": "9", "gross_kg": ""}]
    )
    taken(book, written(week, language, sound), english)
    spoken, plain = write_corrections(book)
    assert fastexcel.read_excel(spoken).sheet_names == [named]
    wrong = [row[-2] for row in read(spoken)[1:]]
    assert empty in wrong[1] and unknown in wrong[3]
    assert "The cell is empty, and it is needed." in read(plain)[1][-2]


def test_how_the_sheet_was_read_is_said_in_its_language(book: Book, tmp_path: Path) -> None:
    columns = kinds()["deliveries"].columns
    path = tmp_path / "livraisons_KES_2026-W19.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow([column.spellings["fr"][0] for column in columns])
        for kg in ("1.250", "1.500", "60"):
            cells = SOUND["deliveries"] | {"kg": kg, "form": "parche", "written_from": "carnet"}
            out.writerow([cells.get(column.name, "") for column in columns])
    assert taken(book, path)[0].sent_back >= 2
    (made,) = write_corrections(book)
    comments = zipfile.ZipFile(made).read("xl/comments1.xml").decode()
    assert "Comment la feuille a été lue : " in comments
    assert "On ne peut pas savoir si un point ou une virgule précède les décimales" in comments
    assert "cellules renvoyées : 2." in comments
    # A comment is no cell: the sheet comes back as it is without it.
    assert len(read(made)[0]) == len(columns) + 4
