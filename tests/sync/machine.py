"""The random machine: phones write, clocks jump, messages are lost, late and repeated; then all is compared."""

from __future__ import annotations

from abc import abstractmethod
from itertools import count
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from holdwatch.services.access import Who
from sync import checks
from sync.hands import TRACKED, Hand, Phone
from sync.household import Answer, Household, World
from sync.ledger import Edit
from sync.pushing import new_id

DAY_MS = 86_400_000
YEAR_MS = 365 * DAY_MS
KINDS = ("tank", "brood", "look", "reading", "feeding", "mark")
TOO_WARM_C = 77

phones = st.integers(0, 4)
# The first records are picked most, so that phones meet.
picks = st.one_of(st.integers(0, 1), st.integers(0, 10**6))
jumps = st.one_of(
    st.integers(-YEAR_MS, YEAR_MS), st.integers(-10 * 60_000, 10 * 60_000), st.sampled_from([0, -YEAR_MS, YEAR_MS])
)


class SyncMachine(RuleBasedStateMachine):
    """One household; the subclass says which phones it has."""

    def __init__(self) -> None:
        super().__init__()
        self.world = World()
        self.household = Household(self.engine(), self.world)
        self.hands: list[Hand] = []
        self.sent: list[tuple[Who, dict[str, Any]]] = []
        self.numbers = count(2)

    @abstractmethod
    def engine(self) -> Any:
        """The database of the test."""

    @abstractmethod
    def new_phone(self, number: int, who: Who) -> Phone:
        """The phone of that number."""

    @initialize(roles=st.lists(st.sampled_from(["owner", "keeper", "helper"]), min_size=2, max_size=5))
    def people_move_in(self, roles):
        for number, role in enumerate(roles):
            who = self.household.move_in(role, f"phone00{number}")
            self.hands.append(Hand(who, self.new_phone(number, who)))
        for kind in ("look", "mark"):
            self._logs(self.hands[0], kind, {})
        for hand in self.hands:
            self._agrees(hand)

    @rule(at=phones, kind=st.sampled_from(KINDS), too_warm=st.booleans(), choice=picks)
    def somebody_logs(self, at, kind, too_warm, choice):
        about = [*self._hand(at).phone.hold(), new_id()]
        more = {"temperature_c": TOO_WARM_C if too_warm else 26} if kind == "reading" else {}
        self._logs(self._hand(at), kind, {"about": about[choice % len(about)], **more})

    @rule(at=phones, choice=picks, both=st.booleans())
    def somebody_corrects(self, at, choice, both):
        self._corrects(self._hand(at), choice, TRACKED if both else TRACKED[:1])

    @rule(at=phones, choice=picks)
    def somebody_corrects_and_sends_it(self, at, choice):
        self._corrects(self._hand(at), choice, TRACKED[:1])
        self._agrees(self._hand(at))

    @rule(at=phones, choice=picks)
    def somebody_looks_at_all_there_is_and_corrects_it(self, at, choice):
        self._agrees(self._hand(at))
        self._corrects(self._hand(at), choice, TRACKED[:1])
        self._agrees(self._hand(at))

    @rule(at=phones, choice=picks)
    def somebody_corrects_twice(self, at, choice):
        for _ in range(2):
            self._corrects(self._hand(at), choice, TRACKED[:1])

    @rule(at=phones, choice=picks, gone=st.booleans())
    def somebody_takes_away_or_brings_back(self, at, choice, gone):
        records = sorted(self._hand(at).phone.hold())
        self._hand(at).phone.edit(records[choice % len(records)], {"gone": gone})

    @rule(at=phones, ahead_ms=jumps)
    def a_clock_jumps(self, at, ahead_ms):
        hand = self._hand(at)
        hand.settings += 1
        hand.phone.clock(ahead_ms)

    @rule(at=phones)
    def a_browser_is_closed_and_opened_again(self, at):
        self._hand(at).settings += 1
        self._hand(at).phone.restart()

    @rule(milliseconds=st.one_of(st.integers(1, 50), st.integers(1, 3 * DAY_MS)))
    def time_passes(self, milliseconds):
        self.world.now_ms += milliseconds

    @rule(behind=st.booleans())
    def the_server_clock_is_set(self, behind):
        self.household.clock_behind = behind

    @rule(at=phones, role=st.sampled_from(["keeper", "helper"]))
    def a_role_changes(self, at, role):
        self.household.give_role(self._hand(at).who, role)

    @rule(at=phones, asking=st.booleans(), limit=st.integers(1, 4))
    def a_phone_asks(self, at, asking, limit):
        hand = self._hand(at)
        if hand.asked is None:
            self._asks(hand, asking, limit)

    @rule(at=phones)
    def the_request_arrives_and_the_answer_is_lost_or_late(self, at):
        hand = self._hand(at)
        if hand.asked is not None:
            self._arrives(hand)

    @rule(at=phones)
    def the_answer_comes(self, at):
        hand = self._hand(at)
        if hand.asked is not None:
            self._takes(hand, hand.asked[0], self._arrives(hand))
            hand.asked = None

    @rule(at=phones)
    def the_phone_gives_up_waiting(self, at):
        self._hand(at).asked = None

    @precondition(lambda self: self.sent)
    @rule(choice=picks)
    def an_old_request_arrives_again(self, choice):
        who, request = self.sent[choice % len(self.sent)]
        self.household.answer(who, request)

    @rule(at=phones, choice=picks)
    def an_old_answer_comes_again(self, at, choice):
        hand = self._hand(at)
        if hand.answers:
            self._takes(hand, *hand.answers[choice % len(hand.answers)])

    @rule(at=phones)
    def a_phone_agrees(self, at):
        self._agrees(self._hand(at))

    def teardown(self):
        try:
            self._comes_to_rest()
            self._is_compared()
        finally:
            for hand in self.hands:
                hand.phone.discard()

    def _is_compared(self):
        for hand in self.hands:
            checks.copies_are_equal(self.household, hand)
        checks.nothing_is_missing(self.household)
        checks.history_is_whole(self.household)
        checks.marks_are_true(self.household)
        checks.times_are_true(self.household, self.hands)

    def _hand(self, at: int) -> Hand:
        return self.hands[at % len(self.hands)]

    def _logs(self, hand: Hand, kind: str, more: dict[str, Any]) -> None:
        fields = self._fresh(TRACKED)
        record = hand.phone.write(kind, {**fields, **more})
        hand.logged[record] = (self.world.now_ms, hand.settings)
        self._enter(hand, record, fields, clean=True)

    def _corrects(self, hand: Hand, choice: int, names: tuple[str, ...]) -> None:
        records = hand.phone.hold()
        record, fields = sorted(records)[choice % len(records)], self._fresh(names)
        clean = records[record]["waiting"] == 0
        hand.phone.edit(record, fields)
        self._enter(hand, record, fields, clean)

    def _fresh(self, names: tuple[str, ...]) -> dict[str, Any]:
        number = next(self.numbers)
        return {name: f"writing {number}" if name == "note" else number for name in names}

    def _enter(self, hand: Hand, record: str, fields: dict[str, Any], clean: bool) -> None:
        for name, value in fields.items():
            place = (record, name)
            self.household.ledger.edits[value] = Edit(place, value, frozenset(hand.knows[place]), clean)
            hand.knows[place].add(value)

    def _asks(self, hand: Hand, asking: bool, limit: int) -> tuple[int, dict[str, Any]]:
        hand.asked = hand.phone.request(asking, limit)
        for change in hand.asked[1]["changes"]:
            _, settings = hand.logged.get(change["id"], (0, -1))
            hand.dated |= {change["id"]} if settings == hand.settings else set()
        return hand.asked

    def _arrives(self, hand: Hand) -> Answer:
        assert hand.asked is not None
        self.sent.append((hand.who, hand.asked[1]))
        answer = self.household.answer(hand.who, hand.asked[1])
        hand.answers.append((hand.asked[0], answer))
        return answer

    def _takes(self, hand: Hand, batch: int, answer: Answer) -> None:
        hand.phone.take(batch, answer.body)
        for place, values in answer.tells_of.items():
            hand.knows[place] |= values

    def _agrees(self, hand: Hand) -> None:
        for _ in range(200):
            batch, request = self._asks(hand, False, 4)
            answer = self._arrives(hand)
            self._takes(hand, batch, answer)
            hand.asked = None
            stuck = {verdict["verdict"] for verdict in answer.body["verdicts"]} == {"clock"}
            if not answer.body["more"] and (stuck or not request["changes"]):
                return
        raise AssertionError("a phone and the server did not come to agree")

    def _comes_to_rest(self) -> None:
        """Everybody becomes a keeper, clocks are right, and what was refused is mended and sent again."""
        self.household.clock_behind = False
        for hand in self.hands:
            self.household.give_role(hand.who, "keeper")
            self._agrees(hand)
            for number, record, values in hand.phone.attention():
                fresh = self._fresh(tuple(name for name in TRACKED if name in values))
                self.household.ledger.mended |= {values[name] for name in fresh}
                hand.phone.mend(number, fresh | ({"temperature_c": 26} if "temperature_c" in values else {}))
                self._enter(hand, record, fresh, clean=False)
        for hand in (*self.hands, *self.hands):
            self._agrees(hand)
