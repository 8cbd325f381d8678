"""Asynchronous tests beside browser tests, whose driver keeps a loop of its own running in the main thread."""

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from functools import wraps
from typing import Any, ParamSpec, TypeVar

Given = TypeVar("Given")
Args = ParamSpec("Args")


def run_alone(waiting: Coroutine[Any, Any, Given]) -> Given:
    """What a coroutine gives, run by a loop in a thread of its own."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, waiting).result()


def with_own_loop(test: Callable[Args, Coroutine[Any, Any, None]]) -> Callable[Args, None]:
    """Have a test that is a coroutine run like any other."""

    @wraps(test)
    def run(*args: Args.args, **kwargs: Args.kwargs) -> None:
        run_alone(test(*args, **kwargs))

    return run
