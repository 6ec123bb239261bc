"""A graph of pure stages: what is asked for is computed, with all that it needs and no more.

A stage is a function. Its name is what it returns; its parameters name what it needs, which is
given or is another stage. What was computed from the same inputs before is not computed again.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from inspect import signature
from itertools import count
from typing import Any

from moldgen.execution import checkpoint
from moldgen.memo import Key, Memo, content_key

Compute = Callable[..., Any]

_OWN = count()
"""Numbers what is given and has no key of its own."""


class Graph:
    """Stages by name.

    Parameters
    ----------
    stages : callable
        One function a stage.
    by_content : collection of str
        Stages that are computed anew each time, and whose content tells whether what stands on
        them is still the same: such as read files, or come out alike from other inputs.
    optional : collection of str
        Stages that may come out as nothing: None then counts as such, whatever it came from.
    without_effect : collection of str
        Inputs on which no result depends, such as who is told of progress.
    """

    def __init__(
        self,
        *stages: Compute,
        by_content: Collection[str] = (),
        optional: Collection[str] = (),
        without_effect: Collection[str] = (),
    ) -> None:
        self.stages = {stage.__name__: stage for stage in stages}
        self.inputs = {name: tuple(signature(s).parameters) for name, s in self.stages.items()}
        self.by_content = frozenset(by_content)
        self.optional = frozenset(optional)
        self.without_effect = frozenset(without_effect)

    def needed(self, name: str) -> Iterator[str]:
        """Yield a stage and everything it needs, directly or not, each once."""
        seen: set[str] = set()
        waiting = [name]
        while waiting:
            one = waiting.pop()
            if one not in seen:
                seen.add(one)
                yield one
                waiting.extend(self.inputs.get(one, ()))


class Computation:
    """Stages of a graph computed from what is given, each at most once.

    Parameters
    ----------
    graph : Graph
        The stages.
    given : mapping
        Inputs by name; what has the name of a stage stands in its place.
    memo : Memo
        Keeps what is computed, for this and other computations.
    """

    def __init__(self, graph: Graph, given: Mapping[str, Any], memo: Memo) -> None:
        self._graph, self._memo = graph, memo
        self._values = dict(given)
        self._keys: dict[str, Key] = {}
        self._given = frozenset(given)

    def get(self, name: str) -> Any:
        """Return a stage's result, or what was given.

        Raises
        ------
        KeyError
            If there is no such stage and nothing of that name was given.
        CancelError
            If the work was asked to stop.
        """
        if name not in self._values:
            if name not in self._graph.stages:
                raise KeyError(f"{name} is neither given nor a stage")
            checkpoint()
            by_content = name in self._graph.by_content
            self._values[name] = (
                self._compute(name)
                if by_content
                else self._memo.get(self._key_of_inputs(name), lambda: self._compute(name))
            )
        return self._values[name]

    def computed(self) -> frozenset[str]:
        """Return the names of the stages whose results are there."""
        return frozenset(self._values) - self._given

    def key(self, name: str) -> Key:
        """Return the key of a result: of what it is computed from, or of what it contains."""
        if name not in self._keys:
            if name in self._given or name in self._graph.by_content:
                self._keys[name] = _key_of(self.get(name))
            elif name in self._graph.optional and self.get(name) is None:
                self._keys[name] = content_key(name, None)
            else:
                self._keys[name] = self._key_of_inputs(name)
        return self._keys[name]

    def _key_of_inputs(self, name: str) -> Key:
        count = (one for one in self._graph.inputs[name] if one not in self._graph.without_effect)
        return content_key(name, *(self.key(one) for one in count))

    def _compute(self, name: str) -> Any:
        needed = {one: self.get(one) for one in self._graph.inputs[name]}
        return self._graph.stages[name](**needed)


def _key_of(value: object) -> Key:
    try:
        return content_key(value)
    except TypeError:
        # Nothing else has the same; what stands on it is kept for this computation alone.
        return content_key("own", next(_OWN))
