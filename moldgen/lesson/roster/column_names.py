"""What the columns of a roster are called in the languages that moldgen speaks."""

from __future__ import annotations

COLUMN_NAMES = {
    "name": (
        "name", "names", "student", "student name", "pupil", "full name", "who",
        "Schüler", "Schülerin", "nom", "élève", "nombre", "alumno", "alumna",
    ),
    "forename": ("first name", "given name", "forename", "Vorname", "Rufname", "prénom"),
    "surname": (
        "last name", "surname", "family name", "Nachname", "Familienname", "nom de famille",
        "apellido", "apellidos",
    ),
    "word": ("word", "text", "says", "Wort", "Aufschrift", "mot", "texte", "palabra", "texto"),
    "shape": ("shape", "Form", "forme", "forma"),
    "drawing": ("drawing", "file", "svg", "dxf", "Zeichnung", "dessin", "dibujo"),
    "font": (
        "font", "letters", "style", "typeface", "Schrift", "Schriftart", "police", "fuente",
    ),
    "color": (
        "color", "colour", "sheet color", "sheet colour", "Farbe", "Plattenfarbe", "couleur",
        "color de la hoja",
    ),
    "group": ("group", "table", "team", "Gruppe", "Tisch", "groupe", "grupo"),
    "job": ("job", "job file", "Auftrag", "travail", "trabajo"),
    "pieces": (
        "pieces", "count", "how many", "quantity", "Stück", "Stückzahl", "Anzahl", "pièces",
        "quantité", "piezas", "cantidad",
    ),
}  # fmt: skip
"""By column of a roster, in any capitals."""
