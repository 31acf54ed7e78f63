"""A plugin with a rule for each way to misbehave; a request says which one."""

import contextlib
import ctypes
import dataclasses
import math
import os
import re
import signal
import sys
import threading
import time

from drawmark import rules

THINGS = []


def raises(case):
    raise KeyError("lost")


def loops(case):
    while True:
        pass


def takes_its_time(case):
    until = time.thread_time() + 0.15
    while time.thread_time() < until:
        pass
    return []


def loops_in_a_generator(case):
    yield rules.stop("never heard")
    while True:
        pass


def says_without_end(case):
    while True:
        yield rules.note("and")


def recurses(case):
    return recurses(case)


def exits(case):
    sys.exit(3)


def interrupts(case):
    raise KeyboardInterrupt


def eats_memory(case):
    eaten = []
    while True:
        eaten.append(bytearray(1 << 26))


def hoards(case):
    THINGS.append(b"x" * (32 << 20))
    return []


def sleeps_in_c(case):
    time.sleep(60)


def swallows_every_timeout(case):
    while True:
        with contextlib.suppress(BaseException):
            time.sleep(0.01)


def never_ending_regex(case):
    re.match(r"(a+)+$", "a" * 60 + "b")


def leaves(case):
    os._exit(0)


def leaves_as_if_it_could_not_start(case):
    os._exit(3)


def leaves_as_if_it_could_not_load(case):
    os._exit(4)


def crashes_in_c(case):
    ctypes.string_at(0)


def is_killed_for_its_memory(case):
    os.kill(os.getpid(), signal.SIGKILL)


def returns_nothing(case):
    return None


def returns_text(case):
    return "stop"


def returns_the_class(case):
    return [rules.Floor]


def returns_a_promise(case):
    async def later():
        return []

    coroutine = later()
    coroutine.close()
    return coroutine


def sets_a_floor_of_nan(case):
    return [rules.floor(math.nan, "nan")]


def sets_a_floor_in_millimetres(case):
    return [rules.floor(740.0, "meant as millimetres")]


def sets_a_floor_in_words(case):
    return [rules.floor("29 in", "words")]


def speaks_in_surrogates(case):
    return [rules.note("a lone \ud800 surrogate")]


def speaks_for_hours(case):
    return [rules.note("x" * 1_000_000)]


def passes_what_is_unsafe(case):
    return [rules.Finding(severity="pass", message="all is well")]


def changes_the_arrow(case):
    case.arrow.length = 2.0


def changes_the_facts(case):
    case.facts.usable_length = 2.0


def prints(case):
    print("HTTP/1.1 200 OK\r\n\r\n{}", flush=True)
    print("look at me", file=sys.stderr, flush=True)
    return []


def starts_threads(case):
    for _ in range(20):
        threading.Thread(target=time.sleep, args=(1.0,)).start()
    return []


def remembers_everything(case):
    THINGS.append(case)
    return []


DEEDS = {
    name: function
    for name, function in list(globals().items())
    if callable(function) and getattr(function, "__module__", "") == __name__
}
Inputs = dataclasses.make_dataclass(
    "Inputs",
    [(name, bool | None, rules.flag(f"It {name}.", default=None)) for name in DEEDS],
    frozen=True,
    kw_only=True,
)


@rules.hookimpl
def drawmark_rules():
    """Give a rule for each deed, asked only where a request says so."""
    return [
        rules.Rule(
            id=name.replace("_", "-"),
            title=f"One that {name.replace('_', ' ')}.",
            check=function,
            needs=(f"local.{name}",),
            inputs=Inputs,
        )
        for name, function in DEEDS.items()
    ]
