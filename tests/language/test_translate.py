"""A text in another language, by the templates it can have been made from."""

import pytest

from moldgen.errors import SpecError
from moldgen.language import Language, language_now, language_of, preferred, speak, translated
from moldgen.language.catalog import filled, made_catalog, read_entries
from moldgen.language.translate import with_comma
from moldgen.units_text import Units, as_read, column_as_read, read_in

FLAT = "gaps are narrow for their depth, the sheet webs across or does not reach the ground"


def test_english_stays_as_it_is():
    """What is read in English is the very same text."""
    assert translated("the wall leans 0.5° too little", Language.EN) == (
        "the wall leans 0.5° too little"
    )
    assert as_read("2.5 mm of wall") == "2.5 mm of wall"


def test_values_are_kept_and_told_with_a_comma():
    """The numbers of a sentence stay, with the decimal sign of the language."""
    told = translated("Make the letters 22.5 mm high, or choose a bolder font.", Language.DE)

    assert told == "Machen Sie die Buchstaben 22,5 mm hoch, oder wählen Sie eine fettere Schrift."


def test_values_that_are_clauses_are_told_too():
    """A value that is itself made from a template is turned as well."""
    told = translated(
        "Turn the heat down to about 60 % of its power (450 °C effective): then heat about "
        "1 min 40 s, or turn the sheet over halfway, or take a thinner sheet.",
        Language.FR,
    )

    assert told == (
        "Baissez la chauffe à environ 60 % de sa puissance (450 °C effectifs) : chauffez alors "
        "environ 1 min 40 s, ou retournez la feuille à mi-temps, ou prenez une feuille plus mince."
    )


def test_empty_values_leave_no_blanks():
    """Where a value is empty, no blank is left over."""
    assert translated("the counter of A", Language.DE) == "Punze von A"


def test_names_stay():
    """What no catalog tells, such as a name that a person gave, stays as it was typed."""
    told = translated("the gap between the P and the I in PIER", Language.ES)

    assert told == "el hueco entre P y I en PIER"
    assert translated("My Own Table", Language.DE) == "My Own Table"


def test_what_is_half_known_stays_whole():
    """A sentence that is not in the catalog is no mixture of two languages."""
    text = "it is the day of the boats, and of the harbor, or of the gulls"

    assert translated(text, Language.DE) == text


def test_commands_stay_as_they_are_typed():
    """Names of commands and values of options are not turned."""
    told = translated("The usual options; moldgen tray --help-all shows all.", Language.FR)

    assert told == "Les options usuelles ; moldgen tray --help-all les montre toutes."
    assert with_comma("--least 0.5, else 0.4 mm") == "--least 0.5, else 0,4 mm"
    assert with_comma("version 0.1.2, HIPS 0.75mm") == "version 0.1.2, HIPS 0.75mm"


def test_language_and_inches_go_together():
    """A text in another language is told in inches as well."""
    with speak(Language.DE), read_in(Units.INCH):
        told = as_read("Set letters 2.5 mm farther apart.")

    assert told == "Setzen Sie die Buchstaben 0,098 in weiter auseinander."


def test_a_column_is_told():
    """Head and cells of a table are told; bare numbers get a comma."""
    with speak(Language.DE):
        assert column_as_read("Height, mm", ["12.5", "never"]) == ("Höhe, mm", ["12,5", "nie"])


def test_the_language_holds_within_its_block():
    """Outside of the block it is what it was."""
    with speak(Language.ES):
        assert language_now() is Language.ES
    assert language_now() is Language.EN


@pytest.mark.parametrize(
    ("accepted", "language"),
    [
        ("de-CH, fr;q=0.8, en;q=0.9", Language.DE),
        ("it, fr;q=0.5, es;q=0.7", Language.ES),
        ("de;q=0, fr;q=0.1", Language.FR),
        ("*", Language.EN),
        ("", Language.EN),
        ("de;q=x, fr", Language.FR),
        ("," * 100_000, Language.EN),
    ],
)
def test_a_browser_is_answered_in_what_it_prefers(accepted, language):
    """The first language that there is, by its share; English if there is none."""
    assert preferred(accepted) is language


def test_an_unknown_language_is_refused():
    """One sentence names those there are."""
    with pytest.raises(SpecError, match=r"language must be one of en, de, es, fr \(got 'xx'\)\."):
        language_of("xx")
    assert language_of(" FR ") is Language.FR


def test_a_catalog_file_is_read():
    """Entries may go over several lines; the head and comments are left out."""
    text = 'msgid ""\nmsgstr "head"\n\n#: a.py\nmsgid "a "\n"b"\nmsgstr "c\\n"\n"\\"d\\""\n'

    assert dict(read_entries(text)) == {"a b": 'c\n"d"'}


def test_braces_that_are_no_value_stay():
    """Doubled braces stand for themselves."""
    catalog = made_catalog({"write {{x}}": "schreiben {{x}}", "put {x}": "legen {x}"})

    assert catalog.plain == {"write {x}": "schreiben {x}"}
    assert catalog.templates[0].names == ("x",)
    assert filled("{b}{{}}{a}", {"a": "1", "b": "2"}) == "2{}1"


def test_several_sentences_with_colons_are_read_one_by_one():
    """A full stop parts a text before a colon does; what stands in brackets is read by itself."""
    text = "From below: mold clamped, glasses, no gloves. Look through 6 slits: with a pin."

    assert translated(text, Language.FR) == (
        "Par-dessous : moule bridé, lunettes, pas de gants. Regardez à travers 6 fentes : "
        "avec une épingle."
    )
    assert translated("(the plaque is the border, and the blade clears the bend)", Language.DE) == (
        "(die Tafel ist der Rand, und die Klinge kommt an der Biegung vorbei)"
    )


def test_names_of_tables_and_printers_stay():
    """A printer that is called medium is not of medium size."""
    assert translated("2 on the printer medium, 3 prints", Language.ES) == (
        "2 en la impresora medium, 3 impresiones"
    )
    assert translated("3, formed on the table large", Language.DE) == (
        "3, geformt auf dem Tisch large"
    )


def test_a_long_text_is_read_in_no_time():
    """What a person typed cannot make reading take long."""
    text = " and ".join(["the sheet of the part in the mold"] * 100)

    assert translated(text, Language.DE)
