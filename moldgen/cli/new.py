"""The new command: a few questions, the command they stand for, and its mold or job file."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from moldgen.cli.ask import ask
from moldgen.cli.commands import COMMANDS, load_function
from moldgen.cli.options import as_option, is_positional, option, spec_from_options
from moldgen.cli.screen import Screen
from moldgen.errors import SpecError
from moldgen.job import drawing_job, sign_job, strip_job, tray_job
from moldgen.job.form import form_of
from moldgen.quantity import Spec
from moldgen.wording import nearest, one_of
from moldgen.written_number import parted, parted_size


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked about a field of a command; an empty usual answer leaves it open."""

    field: str
    words: str
    usual: str = ""
    must: bool = False

    def usual_after(self, answers: Mapping[str, str]) -> str:
        """Return the usual answer once these are given: a bend between every two legs."""
        if self.field != "angles" or "legs_mm" not in answers:
            return self.usual
        return ", ".join(["90"] * (len(parted(answers["legs_mm"])) - 1))


@dataclass(frozen=True, slots=True)
class Wish:
    """What a person may wish for: the command that makes it, and what is asked about it."""

    command: str
    build: Callable[[Any], Any]
    questions: tuple[Question, ...]

    @property
    def spec(self) -> type[Spec]:
        """What the command can say."""
        found: type[Spec] = load_function(COMMANDS[self.command].form)
        return found


_SIZE = "size"
WISHES = {
    "sign": Wish(
        "sign",
        sign_job,
        (
            Question("words", "Words of the sign; / begins a new line", must=True),
            Question("letter_height_mm", "Height of its letters in mm; Enter: as there is room"),
        ),
    ),
    "tray": Wish(
        "tray",
        tray_job,
        (
            Question(_SIZE, "Inside of the tray: length x width x depth in mm", "120 x 80 x 25"),
            Question("compartments", "Compartments", "1 x 1"),
        ),
    ),
    "shape": Wish(
        "raise",
        drawing_job,
        (
            Question("shape", "Shape (moldgen shapes lists them)", "fish"),
            Question("width_mm", "Its width in mm", "120"),
        ),
    ),
    "strip": Wish(
        "bend",
        strip_job,
        (
            Question("legs_mm", "Legs from left to right in mm", "80, 120, 60"),
            Question("angles", "Bends between them in degrees", "90, 90"),
            Question("width_mm", "Width of the strip in mm", "60"),
        ),
    ),
}
"""What may be wished for, by the word a person answers."""
_TITLE = Question("title", "For whom or what, on its label; Enter: what is made")
_MAKE = "yes"


def do_new(given: Mapping[str, Any], screen: Screen) -> int:
    """Ask for a wish, tell the command it stands for, and carry that out."""
    from moldgen.cli.app import main

    kind = ask(f"What shall it be: {one_of(WISHES)}?", "sign", screen, check=_check_kind)
    wish = WISHES[kind.casefold()]
    answers: dict[str, str] = {}
    for question in (*wish.questions, _TITLE):
        answers |= _answered(question, wish, answers, screen)
    where = ask("Make it now? yes, or the name of a job file to write", _MAKE, screen)
    if where.casefold() not in (_MAKE, "y"):
        answers["save_job"] = where if where.endswith(".toml") else f"{where}.toml"
    words = command_words(wish, answers)
    screen.say(f"moldgen {shlex.join(words)}", "")
    return main(words)


def command_words(wish: Wish, answers: Mapping[str, str]) -> list[str]:
    """Return the command that answers stand for, word by word."""
    plain = [line.field for line in form_of(wish.spec) if is_positional(line)]
    typed = [answer for field, answer in answers.items() if field in plain or field == _SIZE]
    words: list[str] = []
    lines = {line.field: line for line in form_of(wish.spec)}
    for field, answer in answers.items():
        if field not in (*plain, _SIZE):
            name = option(lines[field].word if field in lines else field)
            words += [f"{name}={answer}"] if answer.startswith("-") else [name, answer]
    # Words that begin with a hyphen would be taken for an option.
    typed = [f" {answer}" if answer.startswith("-") else answer for answer in typed]
    return [wish.command, *typed, *words]


def _check_kind(answer: str) -> None:
    if answer.casefold() not in WISHES:
        raise SpecError("it", one_of(WISHES), repr(answer), nearest(answer, list(WISHES)))


def _answered(
    question: Question, wish: Wish, before: Mapping[str, str], screen: Screen
) -> dict[str, str]:
    """Return the answer by field; nothing where the field is left open."""

    def check(answer: str) -> None:
        if answer or question.must:
            _check({**before, question.field: answer}, wish)

    answer = ask(question.words, question.usual_after(before), screen, check=check)
    return {question.field: answer} if answer else {}


def _check(answers: Mapping[str, str], wish: Wish) -> None:
    """Raise `SpecError` if what is answered so far, and what is usual for the rest, is no job."""
    usual = {one.field: one.usual_after(answers) for one in wish.questions if one.usual}
    given: dict[str, Any] = {**usual, **answers}
    if _SIZE in given:
        sides = parted_size(given.pop(_SIZE), 3)
        if not sides:
            rule = "like 120 x 80 x 25"
            raise SpecError("the inside", rule, repr(answers.get(_SIZE, "")))
        given |= dict(zip(("length_mm", "width_mm", "depth_mm"), sides, strict=True))
    if "words" in given:
        given["words"] = (given["words"],)
    try:
        wish.build(spec_from_options(wish.spec, given))
    except SpecError as problem:
        raise as_option(problem, wish.spec) from None
