"""The page in the visitor's language: as the browser prefers, or as somebody chose."""

import json
import re
from html import unescape

import pytest
from support.page import HOST, room, teacher_of

from moldgen.language import Language, in_words, speak
from moldgen.web.order import WishOrder
from moldgen.web.spoken import texts_of, words_of_scripts
from moldgen.web.wish import Beginning, DesignWish

__all__ = ["room"]  # what tests here stand on


@pytest.fixture
def teacher(room):
    """Makes a teacher's browser that prefers a language."""
    return lambda accepted: teacher_of(room, **{"accept-language": accepted})


def seen(page):
    """What a person reads of a page, without its tags."""
    bare = re.sub(r"<(head|code|svg).*?</\1>|<[^>]*>", " ", page, flags=re.S)
    return " ".join(unescape(bare).split())


@pytest.mark.parametrize(
    ("accepted", "language", "heading"),
    [
        ("de-AT,de;q=0.9", "de", "Was möchten Sie machen?"),
        ("es", "es", "¿Qué quiere hacer?"),
        ("fr-CA", "fr", "Que voulez-vous faire ?"),
        ("ja", "en", "What do you want to make?"),
    ],
)
def test_the_page_speaks_what_the_browser_prefers(teacher, accepted, language, heading):
    """Language of the document and its words."""
    page = teacher(accepted).get("/begin").text

    assert f'<html lang="{language}">' in page
    assert heading in seen(page)


def test_what_was_chosen_counts_more(teacher):
    """A choice is kept, and leads back to where it was made."""
    client = teacher("de")
    chosen = client.get(
        "/language/fr", headers={"referer": f"{HOST}/class"}, follow_redirects=False
    )

    assert chosen.headers["location"] == "/class"
    assert "Ajouter" in seen(client.get("/class").text)


@pytest.mark.parametrize("referer", ["https://elsewhere.test//evil.test/", "nonsense", ""])
def test_choosing_leads_to_no_other_site(teacher, referer):
    """Whatever the browser says it came from."""
    answer = teacher("de").get("/language/es", headers={"referer": referer}, follow_redirects=False)

    assert answer.headers["location"] == "/"


def test_an_unknown_language_is_refused(teacher):
    """One sentence, and no cookie."""
    answer = teacher("en").get("/language/xx")

    assert answer.status_code == 422
    assert "language must be one of en, de, es, fr (got 'xx')." in seen(answer.text)
    assert "language" not in answer.cookies


def test_no_text_of_a_page_stays_english(teacher):
    """Pages in German share no text with those in English but names and codes."""
    german, english = teacher("de"), teacher("en")
    design = german.post("/designs", data={"beginning": "word"}).url.path

    for path in ("/begin", "/mine", "/queue", "/class", "/stock", design):
        told = seen(german.get(path).text)
        left = [words for words in texts_in(english.get(path).text) if f" {words} " in f" {told} "]
        assert [words for words in left if german_of(words) != words] == [], path


def texts_in(page):
    """The texts between the tags of a page, one by one."""
    page = re.sub(r"<select.*?</select>", "", page, flags=re.S)  # names of the stock stay
    return {" ".join(unescape(one).split()) for one in texts_of(page)}


def german_of(words):
    """What the catalog says."""
    with speak(Language.DE):
        return in_words(words)


def test_scripts_get_their_words(teacher):
    """What scripts say comes with the page, in its language."""
    client = teacher("es")
    page = client.get(client.post("/designs", data={"beginning": "word"}).url.path).text
    words = json.loads(unescape(re.search(r'data-words="([^"]*)"', page)[1]))

    assert set(words) == set(words_of_scripts())
    assert len(words) > 15
    assert words["Here the sheet is about {thickness} thick."] == (
        "Aquí la lámina tiene unos {thickness} de grosor."
    )


def test_work_is_asked_for_in_the_language(teacher, room):
    """Workers are told the language, so that findings come in it."""
    client = teacher("fr")
    path = client.post("/designs", data={"beginning": "word"}).url.path
    client.get(f"{path}/findings")

    asked = [words for work, words, _ in room.queue.asked if work == "findings"]
    assert [words["language"] for words in asked] == ["fr"]


def test_an_order_tells_in_its_language():
    """Choices and findings of an order are told in its language."""
    wish = DesignWish(beginning=Beginning.WORD, values={"words": ["PIER 4"]})
    order = WishOrder.from_message({"wish": wish.words, "language": "de"}, [])

    assert order.told("letters 22.5 mm") == "Buchstaben 22,5 mm"


def test_code_and_styles_are_no_text():
    """What stands in code, tags and names of styles is not told."""
    source = (
        '<body class="{% block kind %}begin{% endblock %}"><code>go on</code> <b alt="A cat">Hi</b>'
    )

    assert list(texts_of(source)) == ["A cat", "Hi"]
