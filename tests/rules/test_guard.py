"""What a rule that misbehaves does to its caller, and to the others."""

import dataclasses
import threading
import time
from threading import get_ident

import msgspec
import numpy as np
import pytest

from drawmark import rules
from drawmark.deadline import DeadlinePassed, deadline
from drawmark.fitting.model import Arrow
from drawmark.rules import strikes, watch
from drawmark.rules.evaluate import evaluate
from drawmark.rules.guard import MOST_LATE, Guard, guard
from drawmark.rules.strikes import STRIKES
from drawmark.rules.watch import LONGEST_CALL, TIME_LIMIT, Call, RuleTimeout
from rules.bench import FACTS, FITTING, core, core_floor, plugin, rule, ruleset, says

SOON = LONGEST_CALL + 1.0


@pytest.fixture(autouse=True)
def forgotten():
    guard.forget()


def judge(local):
    others = plugin(says(rules.note("the others speak")), name="others")
    return evaluate(FITTING, ruleset(core(core_floor), local, others), facts=FACTS)


def run(function):
    started = time.monotonic()
    outcome = judge(plugin(rule(function, function.__name__.replace("_", "-").strip("-"))))
    return outcome, time.monotonic() - started


def raises(case):
    raise KeyError("lost")


def raises_late(case):
    yield rules.note("so far so good")
    raise ValueError("then not")


def raises_without_words(case):
    class MuteError(Exception):
        def __str__(self):
            raise RuntimeError("not even that")

    raise MuteError


def raises_surrogates(case):
    raise ValueError("\ud800")


def leaves(case):
    raise SystemExit(3)


def interrupts(case):
    raise KeyboardInterrupt


def closes(case):
    raise GeneratorExit


def raises_its_own_timeout(case):
    raise RuleTimeout


def recurses(case):
    return recurses(case)


def eats_memory(case):
    return [bytearray(1 << 62)]


def changes_the_fitting(case):
    case.arrow.length = 2.0


def changes_the_case(case):
    case.arrow = None


def returns_nothing(case):
    return None


def returns_a_number(case):
    return 7


def returns_one(case):
    return rules.floor(0.7, "ours")


def returns_text(case):
    return "stop"


def says_without_end(case):
    while True:
        yield rules.note("and")


FAILS = [
    (raises, "raised KeyError: 'lost'"),
    (raises_late, "raised ValueError: then not"),
    (raises_without_words, "raised MuteError"),
    (raises_surrogates, "raised ValueError: ?"),
    (leaves, "raised SystemExit: 3"),
    (interrupts, "raised KeyboardInterrupt"),
    (closes, "raised GeneratorExit"),
    (raises_its_own_timeout, "raised RuleTimeout"),
    (recurses, "raised RecursionError: maximum recursion depth exceeded"),
    (eats_memory, "raised MemoryError"),
    (changes_the_fitting, "raised FrozenInstanceError: cannot assign to field 'length'"),
    (changes_the_case, "raised AttributeError: immutable type: 'Case'"),
    (returns_nothing, "returned None; yield what it says, or return a list"),
    (returns_a_number, "returned int; yield what it says, or return a list"),
    (returns_one, "returned Floor; yield what it says, or return a list"),
    (returns_text, "returned str, not a floor, a ceiling or a finding"),
    (says_without_end, "said more than 50 things"),
]


@pytest.mark.parametrize(
    ("function", "reason"), [pytest.param(f, r, id=f.__name__) for f, r in FAILS]
)
def test_a_failing_rule_leaves_all_else_as_it_was(function, reason, caplog):
    # Half a character in a captured log cannot be passed between processes that share the tests.
    with caplog.at_level("CRITICAL", logger="drawmark.rules.guard"):
        outcome, took = run(function)
    assert [one.plugin for one in outcome.unevaluated] == ["local"]
    assert outcome.unevaluated[0].reason.startswith(f"The rule {reason}")
    assert outcome.verdict == "indeterminate"
    assert not outcome.determinate
    assert outcome.minimum_usable == 0.73
    assert [placed.said.message for placed in outcome.findings] == ["the others speak"]
    assert FITTING.arrow.length == 0.80
    assert took < SOON
    msgspec.json.encode(outcome.unevaluated)


def loops(case):
    while True:
        pass


def loops_in_a_generator(case):
    yield rules.note("so far so good")
    while True:
        pass


def swallows_once(case):
    try:
        while True:
            pass
    except BaseException:
        return []


def hides_the_timeout(case):
    try:
        while True:
            pass
    except BaseException as error:
        raise ValueError("mine") from error


def tidies_up(case):
    try:
        while True:
            pass
    finally:
        time.sleep(0.05)


def sleeps_a_little_too_long(case):
    time.sleep(TIME_LIMIT + 0.2)
    return []


@pytest.mark.parametrize(
    "function",
    [
        loops,
        loops_in_a_generator,
        swallows_once,
        hides_the_timeout,
        tidies_up,
        sleeps_a_little_too_long,
    ],
)
def test_a_rule_without_end_is_stopped(function):
    outcome, took = run(function)
    assert outcome.unevaluated[0].reason == "The rule ran longer than 250 ms."
    assert outcome.verdict == "indeterminate"
    assert not outcome.determinate
    assert [placed.said.message for placed in outcome.findings] == ["the others speak"]
    assert TIME_LIMIT < took < SOON


@pytest.fixture
def unhurried(monkeypatch):
    """Let calls use up their own time, of which there is less, however busy the machine is."""
    monkeypatch.setattr("drawmark.rules.watch.TIME_LIMIT", 0.1)
    monkeypatch.setattr("drawmark.rules.watch.LONGEST_CALL", 60.0)


def length_of(at):
    return dataclasses.replace(FITTING, arrow=Arrow(length=0.70 + 0.01 * at))


def reasons_of(lengths, name="slow"):
    local = ruleset(plugin(rule(loops, name)))
    outcomes = [evaluate(length_of(at), local, facts=FACTS) for at in lengths]
    assert {one.verdict for one in outcomes} == {"indeterminate"}
    return [one.unevaluated[0].reason for one in outcomes]


LATE = "The rule ran longer than 250 ms."
OFF = (
    "The rule is off in this process for a while: it was too slow on 3 different fittings within "
    "60 s."
)


@pytest.mark.usefixtures("unhurried")
def test_one_fitting_switches_no_rule_off():
    assert reasons_of([0] * (STRIKES + 1)) == [LATE] * (STRIKES + 1)


@pytest.mark.usefixtures("unhurried")
def test_several_different_fittings_switch_a_rule_off_and_no_other(monkeypatch):
    seen = []
    monkeypatch.setattr(guard.strikes, "observer", lambda *told: seen.append(told))
    assert reasons_of(range(STRIKES + 1)) == [LATE] * STRIKES + [OFF]
    assert seen == [(("local", "slow"), True)]
    assert reasons_of([0], "other") == [LATE]


@pytest.mark.usefixtures("unhurried")
def test_a_rule_that_has_rested_is_tried_again(monkeypatch):
    reasons_of(range(STRIKES))
    assert reasons_of([9]) == [OFF]
    now = time.monotonic()
    monkeypatch.setattr(strikes, "monotonic", lambda: now + strikes.REST)
    assert reasons_of([9, 9, 9]) == [LATE] * 3
    assert reasons_of([7, 8, 9]) == [LATE, LATE, OFF]


@pytest.mark.usefixtures("unhurried")
def test_strikes_of_long_ago_do_not_count(monkeypatch):
    reasons_of(range(STRIKES - 1))
    now = time.monotonic()
    monkeypatch.setattr(strikes, "monotonic", lambda: now + strikes.WITHIN)
    assert reasons_of([5, 6]) == [LATE, LATE]


@pytest.mark.usefixtures("unhurried")
def test_one_request_gives_one_strike_and_a_rule_a_few_calls():
    again = "The rule is not asked again: it was too slow 3 times in this request."
    for request in range(2):
        deadline.begin(60.0)
        try:
            told = reasons_of(range(10 * request, 10 * request + MOST_LATE + 2))
        finally:
            deadline.end()
        assert told == [LATE] * MOST_LATE + [again] * 2
    assert reasons_of([50]) == [LATE]


def test_a_busy_machine_stops_a_call_and_strikes_nobody(monkeypatch):
    monkeypatch.setattr("drawmark.rules.watch.LONGEST_CALL", 0.1)
    assert reasons_of(range(STRIKES + 1)) == [LATE] * (STRIKES + 1)


def test_time_in_which_the_process_was_stopped_is_not_a_rules():
    """A tick that took far longer than usual counts as two."""
    call = Call(("p", "r"), get_ident(), started=0.0)
    call.count(watch.counted(60.0))
    assert call.watched == 2 * watch.TICK
    assert not call.is_overdue


def test_a_request_ends_between_rules_when_its_time_is_up():
    local = ruleset(plugin(*(rule(loops, f"slow-{at}") for at in range(9))))
    deadline.begin(0.4)
    started = time.monotonic()
    try:
        with pytest.raises(DeadlinePassed):
            evaluate(FITTING, local, facts=FACTS)
    finally:
        deadline.end()
    assert time.monotonic() - started < 2 * SOON


def prints(case):
    print("look at me")
    return []


def starts_threads(case):
    for _ in range(20):
        threading.Thread(target=time.sleep, args=(0.2,), daemon=True).start()
    return []


@pytest.mark.parametrize("function", [prints, starts_threads])
def test_what_is_only_untidy_is_let_be(function):
    outcome, _ = run(function)
    assert not outcome.unevaluated
    assert outcome.verdict == "pass"


def test_others_are_answered_while_a_rule_loops():
    slow = threading.Thread(target=run, args=(lambda_loop,))
    slow.start()
    times = []
    while slow.is_alive():
        started = time.monotonic()
        outcome = judge(plugin(says(rules.caution("c"))))
        times.append(time.monotonic() - started)
        assert outcome.verdict == "caution"
    slow.join()
    assert len(times) > 5


def lambda_loop(case):
    while True:
        pass


def test_rules_that_call_c_do_not_keep_the_watch_waiting():
    column, late = np.arange(1000.0), []

    def looks_up(case):
        late.append(time.monotonic() - guard.watch.looked_at)
        for _ in range(50):
            column.searchsorted(3.0)
            sum(range(4000))
        return ()

    def longest():
        late.clear()
        end = time.monotonic() + 1.0
        while time.monotonic() < end:
            guard.call_each([(("p", "r"), looks_up)], None)
        return max(late)

    # A busy machine keeps it waiting too.
    assert any(longest() < watch.LATE + 0.1 for _ in range(3))


def test_no_timeout_strikes_after_the_rule_has_returned(monkeypatch):
    """Rules that end just as their time does: told too late, or not, and never afterwards."""
    monkeypatch.setattr("drawmark.rules.watch.TIME_LIMIT", 0.003)
    monkeypatch.setattr("drawmark.rules.watch.LONGEST_CALL", 0.003)
    monkeypatch.setattr("drawmark.rules.watch.TICK", 0.0005)
    monkeypatch.setattr("drawmark.rules.watch._LONGEST_TICK", 100.0)
    monkeypatch.setattr("drawmark.rules.strikes.STRIKES", 10**9)
    guard = Guard()
    strayed, ended = [], []

    def work(offset):
        try:
            for turn in range(150):
                until = time.monotonic() + 0.0025 + (turn % 10) * 0.0002 + offset

                def check(case, until=until):
                    while time.monotonic() < until:
                        pass
                    return ["said"]

                (answer,) = guard.call_each([(("p", "r"), check)], None)
                ended.append(answer == ["said"])
                sum(range(500))
        except BaseException as error:
            strayed.append(error)

    threads = [threading.Thread(target=work, args=(n * 0.0001,)) for n in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not strayed
    assert len(ended) == 450
    # Both ends were met: rules that were stopped, and rules that just made it.
    assert True in ended
    assert False in ended
