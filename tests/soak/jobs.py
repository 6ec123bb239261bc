"""Random jobs that are likely to be made: as people say them, at sizes of every order."""

from __future__ import annotations

from random import Random
from typing import Any

from moldgen.api.lists import shape_names
from moldgen.stock import load_shop

_WORDS = ("AHOY", "PIER 4", "Möwe", "TIDE\nTABLE", "8", "i", "Crew only", "ОСТРОВ", "&%@", "WWW",
          "lll", "a", "BOATS\n& OARS", "Ω", "1:25", "Fish-market", "O O", "ÅÇŻ")  # fmt: skip
Words = dict[str, Any]


def likely_job(seed: int) -> Words:
    """Return a job in words; the same seed, the same job."""
    random = Random(seed)
    n_bodies = random.choice((1, 1, 1, 1, 2))
    job: Words = {
        "title": random.choice(_WORDS).replace("\n", " "),
        "body": [_body(random, number) for number in range(n_bodies)],
    }
    shop = load_shop(user_file=None)
    for word, names in (("machine", shop.names("machine")), ("printer", shop.names("printer"))):
        if random.random() < 0.3:
            job[word] = random.choice(names)
    if random.random() < 0.5:
        gauge_mm = random.choice((0.3, 0.5, 1, 1.5, 2, 3))
        job["sheet"] = {"plastic": random.choice(shop.names("plastic")), "gauge": gauge_mm}
    if random.random() < 0.3:
        job["side"] = random.choice(("male", "female"))
    if random.random() < 0.3:
        job["vents"] = {"kind": random.choice(("slits", "drilled")),
                        "spacing": random.choice((8, 25, 60))}  # fmt: skip
    if random.random() < 0.3:
        job["underside"] = {"kind": random.choice(("relief", "feet", "flat")),
                            "pry": random.random() < 0.5}  # fmt: skip
    if random.random() < 0.1:
        job["build"] = "wood"
    looks = ("off", "preview") if random.random() < 0.4 else ("off",)
    return job | {"forming": {"look": random.choice(looks)}}


def _body(random: Random, number: int) -> Words:
    body = _wall(random) | {
        "name": f"body {number}",
        "outline": _outline(random, random.choice((15, 40, 80, 160, 240))),
        "height": round(random.choice((2, 6, 12, 25, 50)) * random.uniform(0.6, 1.4), 2),
    }
    if number:
        body["outline"]["x"] = round(random.uniform(80, 260), 1)
    _stand_on(random, body, deep=0)
    return body


def _stand_on(random: Random, parent: Words, *, deep: int) -> None:
    """Give a feature others that stand on it, or are sunk into it."""
    if deep > 2 or random.random() < 0.3:
        return
    for way in ("raised", "sunk"):
        if random.random() < 0.45:
            child = _wall(random) | {
                "outline": _inner_outline(random),
                ("height" if way == "raised" else "depth"): round(random.uniform(0.6, 9), 2),
            }
            _stand_on(random, child, deep=deep + 1)
            parent[way] = [child]


def _wall(random: Random) -> Words:
    """Return what is said of a wall, mostly nothing."""
    said = {
        "draft": lambda: random.choice((0.5, 2, 5, 12, 25)),
        "top_radius": lambda: random.choice((0, 0.3, 1, 3)),
        "base_radius": lambda: random.choice((0, 0.3, 1, 3)),
        "plan_radius": lambda: random.choice((0, 0.5, 3, 8)),
        "read_at": lambda: random.choice(("top", "foot", "part-outside", "part-inside")),
    }
    return {word: value() for word, value in said.items() if random.random() < 0.2}


def _outline(random: Random, size_mm: float) -> Words:
    kind = random.choice(("shape", "shape", "text", "points", "points"))
    size_mm = round(size_mm * random.uniform(0.7, 1.3), 2)
    if kind == "text":
        return {"text": random.choice(_WORDS), "width": size_mm} | _turned(random)
    if kind == "shape":
        return {"shape": random.choice(shape_names()), "width": size_mm} | _turned(random)
    return {"points": _corners(random, size_mm)}


def _inner_outline(random: Random) -> Words:
    gap_mm = round(random.uniform(0.5, 12), 2)
    return random.choice(
        (
            {"inset": gap_mm},
            {"border": gap_mm, "inset": round(random.uniform(0, 8), 2)},
            {"grid": f"{random.randint(1, 5)} x {random.randint(1, 4)}", "gap": gap_mm},
            _outline(random, random.choice((8, 20, 50))),
            _outline(random, random.choice((8, 20, 50))),
        )
    )


def _turned(random: Random) -> Words:
    turn = {"turn": random.choice((7, 45, 90, -30))} if random.random() < 0.2 else {}
    return turn | ({"mirror": True} if random.random() < 0.1 else {})


def _corners(random: Random, size_mm: float) -> list[list[float]]:
    """Return a rectangle, or a star of random arms, its sides free of crossings."""
    if random.random() < 0.5:
        wide, deep = size_mm, round(size_mm * random.uniform(0.2, 1), 2)
        return [[0, 0], [wide, 0], [wide, deep], [0, deep]]
    from math import cos, pi, sin

    n_corners = random.randint(3, 14)
    arms = [size_mm / 2 * random.uniform(0.25, 1) for _ in range(n_corners)]
    turns = [2 * pi * k / n_corners for k in range(n_corners)]
    return [[round(r * cos(t), 3), round(r * sin(t), 3)] for r, t in zip(arms, turns, strict=True)]
