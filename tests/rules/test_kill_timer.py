"""Rules that only the end of the process can stop, each in a process of its own."""

import subprocess
import sys
import textwrap
import time

import pytest

from drawmark.rules import kill_timer
from drawmark.rules.watch import EXIT_STUCK, GRACE, STUCK_AFTER, TIME_LIMIT

SCRIPT = """
import ctypes, os, re, resource, threading, time
from rules.bench import FACTS, FITTING, plugin, rule, ruleset, says
from drawmark import rules
from drawmark.rules.evaluate import evaluate
from drawmark.rules.guard import guard

guard.exit_callbacks.append(lambda: print("last words", flush=True))

def judge(check):
    return evaluate(FITTING, ruleset(plugin(rule(check))), facts=FACTS)

def check(case):
{body}

def serve():
    while True:
        assert judge(says(rules.note("n"))).verdict == "pass"
        time.sleep(0.01)

{threads}
outcome = judge(check)
print(outcome.verdict, outcome.unevaluated, flush=True)
"""
SERVING = "threading.Thread(target=serve, daemon=True).start()\n"
STUCK, ENDING, HELD, WAITED = 0.6, 0.3, 0.85, 2.0
"""Limits of the processes here, but for the first test's: the service waits longer [s].

On a busy machine code that holds the lock takes long to burn its time, so `WAITED` counts alone.
"""
SOONER = f"""
from drawmark.rules import kill_timer, watch
watch.STUCK_AFTER, watch.GRACE = {STUCK}, {ENDING}
kill_timer.HELD, kill_timer.WAITED = {HELD}, 60.0
"""
WAITS_LESS = f"{SOONER}kill_timer.WAITED = {WAITED}\n"


def run(body, threads=SERVING):
    script = SCRIPT.format(body=textwrap.indent(body, "    "), threads=threads)
    started = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=TESTS,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    return done, time.monotonic() - started


TESTS = __file__.rsplit("/rules/", 1)[0]


@pytest.mark.parametrize(
    ("body", "sooner", "least"),
    [
        pytest.param("time.sleep(60)", "", STUCK_AFTER + GRACE, id="sleeps in C"),
        pytest.param(
            "threading.Lock().acquire() and threading.Event().wait(60)",
            SOONER,
            STUCK + ENDING,
            marks=pytest.mark.long,
            id="waits",
        ),
        pytest.param(
            "while True:\n    try: time.sleep(0.01)\n    except BaseException: pass",
            SOONER,
            STUCK + ENDING,
            marks=pytest.mark.long,
            id="swallows every timeout",
        ),
    ],
)
def test_what_cannot_be_stopped_ends_the_process(body, sooner, least):
    done, took = run(body, sooner + SERVING)
    assert done.returncode == EXIT_STUCK, done.stderr
    assert "last words" in done.stdout
    assert "rule r of plugin local cannot be stopped" in done.stderr
    assert "in check" in done.stderr, "no traceback of the rule"
    assert took > TIME_LIMIT + least


def test_the_last_resort_waits_as_long_as_the_watch_would():
    assert kill_timer.HELD == TIME_LIMIT + STUCK_AFTER
    assert kill_timer.WAITED > kill_timer.HELD


HOLDS = 're.match(r"(a+)+$", "a" * 60 + "b")'


@pytest.mark.long
@pytest.mark.parametrize(
    "threads",
    [
        pytest.param(SERVING, id="beside others"),
        pytest.param("", id="at the first call"),
        pytest.param(
            "judge(says())\nwhile guard.watch.awake: time.sleep(0.05)",
            id="after the watch went to rest",
        ),
    ],
)
def test_a_regex_without_end_holds_the_interpreter_and_still_ends_the_process(threads):
    done, took = run(HOLDS, SOONER + threads)
    assert done.returncode == -kill_timer.SIGNAL, done.stderr
    assert took > HELD
    assert "in check" in done.stderr, "no traceback of the rule"


@pytest.mark.long
def test_code_that_waits_and_holds_the_interpreter_ends_the_process():
    done, took = run("ctypes.PyDLL(None).sleep(60)", WAITS_LESS + SERVING)
    assert done.returncode == 1, done.stderr
    assert took > WAITED
    assert "Timeout" in done.stderr
    assert "in check" in done.stderr, "no traceback of the rule"


@pytest.mark.long
def test_a_signal_that_is_handled_already_is_let_be():
    handled = """
import signal
handler = lambda *_: None
signal.signal(kill_timer.SIGNAL, handler)
judge(says())
print("let be", signal.getsignal(kill_timer.SIGNAL) is handler, flush=True)
print("no timer", signal.getitimer(signal.ITIMER_PROF) == (0.0, 0.0), flush=True)
"""
    done, took = run(HOLDS, WAITS_LESS + handled)
    assert done.stdout.splitlines() == ["let be True", "no timer True"]
    # The other timer, that of code that waits, ends the process.
    assert done.returncode == 1, done.stderr
    assert took > WAITED
    assert "Timeout" in done.stderr
    assert "in check" in done.stderr, "no traceback of the rule"


def test_a_rule_that_cannot_be_watched_is_not_called():
    no_thread = "def refuse(self): raise RuntimeError\nthreading.Thread.start = refuse\n"
    done, _ = run("print('called')", no_thread)
    assert done.stdout.startswith("indeterminate")
    assert "cannot be watched" in done.stdout


@pytest.mark.long
def test_a_burdened_process_whose_rules_return_lives_on():
    burdens = f"""
def burn():
    until = time.process_time() + {3 * HELD}
    while time.process_time() < until: pass
burning = [threading.Thread(target=burn, daemon=True) for _ in range(3)]
for one in burning: one.start()
while any(one.is_alive() for one in burning):
    judge(lambda case: time.sleep(0.1) or [])
"""
    done, _ = run("return []", SOONER + burdens)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("pass")


def test_leaving_without_a_word_ends_the_process():
    done, _ = run("os._exit(3)")
    assert done.returncode == 3


@pytest.mark.long
def test_memory_without_end_is_an_error_like_others():
    done, _ = run(
        "limit = resource.RLIMIT_AS\n"
        "resource.setrlimit(limit, (4 << 30, resource.getrlimit(limit)[1]))\n"
        "eaten = []\n"
        "while True: eaten.append(bytearray(1 << 28))",
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("indeterminate")
    assert "MemoryError" in done.stdout or "ran longer" in done.stdout


def test_a_child_of_a_watched_process_has_a_watch_of_its_own():
    threads = """
judge(says())
for _ in range(3):
    child = os.fork()
    if not child:
        break
if child:
    time.sleep(0.3)
"""
    done, _ = run("while True: pass", threads)
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("ran longer than 250 ms") == 4


LATE = f"""
class Late:
    def __del__(self, clock=time.process_time):
        end = clock() + {1.5 * HELD}
        while clock() < end:
            pass

os.late = Late()
"""


@pytest.mark.long
def test_an_interpreter_that_takes_long_to_end_is_let_end():
    done, _ = run("return [rules.note('n')]", SOONER + LATE)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("pass")
