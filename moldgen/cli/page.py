"""The page command: design in a browser, alone or with a class."""

from __future__ import annotations

import subprocess
import sys
import webbrowser
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.options import as_option, spec_from_options
from moldgen.cli.screen import Screen
from moldgen.errors import SpecError
from moldgen.job.command.page import PageCommand
from moldgen.user_file import user_data_folder

if TYPE_CHECKING:
    from moldgen.web.serve import PageServer

_PREPARE = (
    "import sys; sys.path.insert(0, sys.argv[1]); "
    "from moldgen.cli.first_use import prepare_uses; from moldgen.cli.screen import Screen; "
    "prepare_uses(('mold', 'mold-pictures', 'forming'), "
    "Screen(out=sys.stdout, err=sys.stderr, quiet=sys.argv[2] == 'quiet'))"
)


def do_page(given: Mapping[str, Any], screen: Screen) -> int:
    """Start the page, and serve it until the person stops it."""
    words = spec_from_options(PageCommand, given)
    from moldgen.execution import n_processors
    from moldgen.web.serve import PageServer, PageSpec, free_port

    try:
        port = free_port(int(words.port))
    except SpecError as problem:
        raise as_option(problem, PageCommand) from None
    _prepare(screen.quiet)
    spec = PageSpec(
        folder=Path(words.data) if words.data else user_data_folder(),
        port=port,
        is_open=words.lan,
        n_workers=int(words.workers or n_processors() + 1),
    )
    page = PageServer(spec)
    screen.say("Warming up: a minute at most.")
    page.warm(lambda share: None)

    def ready() -> None:
        _tell(page, screen)
        if not words.no_browser:
            webbrowser.open(page.teacher_link)

    page.run(ready)
    screen.say("", "Everything is kept.")
    return 0


def _prepare(quiet: bool) -> None:
    """Compile what is missing in a process of its own: its libraries would stay in this one."""
    home = str(Path(__file__).parents[2])
    words = [sys.executable, "-P", "-c", _PREPARE, home, "quiet" if quiet else ""]
    subprocess.run(words, check=False)


def _tell(page: PageServer, screen: Screen) -> None:
    screen.say("", f"For you:       {page.teacher_link}")
    if page.room.addresses:
        screen.say(*(f"For students:  {address}" for address in page.room.addresses))
        screen.say(
            "The class page shows the code that they type. If this machine asks whether its",
            "firewall shall let the page through: yes, in this network only.",
        )
    else:
        screen.say("Only this machine reaches it; moldgen page --lan lets students in.")
    screen.say(f"Kept in {page.spec.folder}. Ctrl-C ends it; nothing is lost.")
