"""The chain of the history: what does not fit is named; pure, over made entries."""

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from qa.domain.history import (
    EVERY_ENTRIES,
    EVERY_S,
    FIRST,
    LATE_S,
    Checkpoint,
    Entry,
    Fact,
    canonical,
    chain_faults,
    checkpoint_faults,
    content_sha256,
    fact_faults,
    link,
    order_faults,
    stamp,
    wants_checkpoint,
)

BEGAN = datetime(2031, 3, 14, 7, 0, tzinfo=UTC)

facts_of = st.lists(
    st.builds(
        Fact,
        st.sampled_from(["field event", "waiver", "closing"]),
        st.uuids().map(str),
        st.integers(0, 50_000).map(lambda s: BEGAN + timedelta(seconds=s)),
        st.dictionaries(st.text(max_size=5), st.integers() | st.text(max_size=5), max_size=3),
    ),
    min_size=2,
    max_size=12,
    unique_by=lambda fact: (fact.source, fact.subject),
)


def chain(facts: list[Fact]) -> list[Entry]:
    """Return the entries of facts, a minute apart."""
    entries: list[Entry] = []
    for number, fact in enumerate(facts, start=1):
        previous = entries[-1].digest if entries else FIRST
        at = BEGAN + timedelta(hours=15, minutes=number)
        entries.append(link(fact, number=number, previous=previous, written_at=at))
    return entries


def faults(entries: list[Entry], facts: list[Fact], heads: list[Checkpoint]) -> list[str]:
    """Return all faults there are; a checkpoint whose signature is 'good' is signed."""
    return [
        *chain_faults(entries),
        *order_faults(entries),
        *checkpoint_faults(entries, heads, lambda each: each.signature == "good"),
        *fact_faults(entries, facts),
    ]


def head_of(entries: list[Entry]) -> Checkpoint:
    """Return a signed checkpoint at the end."""
    last = entries[-1]
    return Checkpoint(last.number, last.digest, last.written_at, "key", "good")


@given(facts_of)
def test_what_nobody_bent_is_in_order(facts: list[Fact]) -> None:
    """No false alarm."""
    entries = chain(facts)

    assert faults(entries, facts, [head_of(entries)]) == []


@given(facts_of, st.data())
def test_an_edited_fact_is_named(facts: list[Fact], data: st.DataObject) -> None:
    """The record says something else than its entry."""
    entries, n = chain(facts), data.draw(st.integers(0, len(facts) - 1))
    bent = [*facts]
    bent[n] = replace(facts[n], content={**facts[n].content, "added": 1})

    assert faults(entries, bent, []) == [
        f"{facts[n].source} {facts[n].subject}: changed since entry {n + 1}"
    ]


@given(facts_of, st.data())
def test_a_restamped_fact_is_named(facts: list[Fact], data: st.DataObject) -> None:
    """Its own time belongs to the fact."""
    entries, n = chain(facts), data.draw(st.integers(0, len(facts) - 1))
    bent = [*facts]
    bent[n] = replace(facts[n], stated_at=facts[n].stated_at - timedelta(seconds=1))

    assert f"{facts[n].source} {facts[n].subject}: changed since entry {n + 1}" in faults(
        entries, bent, []
    )


@given(facts_of, st.data())
def test_a_deleted_fact_is_named(facts: list[Fact], data: st.DataObject) -> None:
    """The entry stays when the record is gone."""
    entries, n = chain(facts), data.draw(st.integers(0, len(facts) - 1))

    assert faults(entries, facts[:n] + facts[n + 1 :], []) == [
        f"{facts[n].source} {facts[n].subject}: entry {n + 1} has it, the records do not"
    ]


@given(facts_of, st.data())
def test_an_inserted_fact_is_named(facts: list[Fact], data: st.DataObject) -> None:
    """A record that never came into the history."""
    entries = chain(facts)
    new = Fact("waiver", "0" * 36, BEGAN, {"by": data.draw(st.text(max_size=3))})

    assert faults(entries, [*facts, new], []) == [f"waiver {'0' * 36}: stands in no entry"]


def test_a_fact_that_came_in_late_says_so() -> None:
    """Somebody dates a record back and lets it come into the history properly."""
    fact = Fact("waiver", "w", BEGAN, {})
    in_time = link(fact, number=1, previous=FIRST, written_at=BEGAN + timedelta(seconds=LATE_S))
    late = link(fact, number=1, previous=FIRST, written_at=BEGAN + timedelta(seconds=LATE_S + 1))

    assert list(fact_faults([in_time], [fact])) == []
    (fault,) = fact_faults([late], [fact])
    assert fault == (
        "waiver w: says 2031-03-14T07:00:00.000000Z, "
        "but came into the history at 2031-03-15T07:00:01.000000Z"
    )


@given(facts_of, st.data())
def test_an_edited_entry_is_named(facts: list[Fact], data: st.DataObject) -> None:
    """Each part of an entry is under its digest."""
    entries, n = chain(facts), data.draw(st.integers(0, len(facts) - 1))
    bent = [*entries]
    change = data.draw(st.sampled_from([
        {"source": "other"}, {"subject": "other"}, {"content_sha256": "0" * 64},
        {"written_at": entries[n].written_at + timedelta(microseconds=1)},
    ]))  # fmt: skip
    bent[n] = replace(entries[n], **change)

    assert f"entry {n + 1}: was changed after it was written" in list(chain_faults(bent))


@given(facts_of, st.data())
def test_a_deleted_entry_is_named(facts: list[Fact], data: st.DataObject) -> None:
    """All but the last leave a gap; the last is the checkpoint's matter."""
    entries, n = chain(facts), data.draw(st.integers(0, len(facts) - 2))
    found = list(chain_faults(entries[:n] + entries[n + 1 :]))

    assert f"entry {n + 1}: missing; entry {n + 2} stands in its place" in found


@given(facts_of, st.data())
def test_two_swapped_entries_are_named(facts: list[Fact], data: st.DataObject) -> None:
    """Even when they are numbered anew."""
    entries, n = chain(facts), data.draw(st.integers(0, len(facts) - 2))
    one, two = entries[n], entries[n + 1]
    bent = [*entries]
    bent[n], bent[n + 1] = replace(two, number=one.number), replace(one, number=two.number)

    assert f"entry {n + 1}: was changed after it was written" in list(chain_faults(bent))


@given(facts_of, st.data())
def test_a_tail_written_anew_is_named(facts: list[Fact], data: st.DataObject) -> None:
    """Chain and facts fit each other again; the signed head does not."""
    entries, n = chain(facts), data.draw(st.integers(0, len(facts) - 1))
    bent = [*facts]
    bent[n] = replace(facts[n], content={"other": True})
    anew = chain(bent)

    assert list(chain_faults(anew)) == list(fact_faults(anew, bent)) == []
    assert len(list(checkpoint_faults(anew, [head_of(entries)], lambda _: True))) == 1


@given(facts_of, st.data())
def test_a_history_cut_off_is_named(facts: list[Fact], data: st.DataObject) -> None:
    """Entries and records gone together, up to a checkpoint."""
    entries, n = chain(facts), data.draw(st.integers(0, len(facts) - 1))

    found = list(checkpoint_faults(entries[:n], [head_of(entries)], lambda _: True))

    assert len(found) == 1
    assert "the history ends before it" in found[0]


def test_a_checkpoint_with_another_signature_is_named() -> None:
    """Whoever lacks the key cannot move the head."""
    entries = chain([Fact("waiver", "w", BEGAN, {}), Fact("waiver", "v", BEGAN, {})])
    found = list(checkpoint_faults(entries, [head_of(entries)], lambda _: False))

    assert len(found) == 1
    assert found[0].endswith("its signature is not that of key key")


def test_a_checkpoint_is_due_after_a_hundred_entries_or_ten_minutes() -> None:
    """One step to each side of both limits."""
    last = Checkpoint(1000, "h", BEGAN, "key", "good")

    assert wants_checkpoint(1, BEGAN, None)
    assert not wants_checkpoint(0, BEGAN, None)
    assert wants_checkpoint(1000 + EVERY_ENTRIES, BEGAN, last)
    assert not wants_checkpoint(999 + EVERY_ENTRIES, BEGAN, last)
    assert wants_checkpoint(1001, BEGAN + timedelta(seconds=EVERY_S), last)
    assert not wants_checkpoint(1001, BEGAN + timedelta(seconds=EVERY_S - 1), last)
    assert not wants_checkpoint(1000, BEGAN + timedelta(days=1), last)


def test_entries_out_of_order_in_time_are_named() -> None:
    """A clock that was set back, or an entry that was slipped in."""
    entries = chain([Fact("waiver", "w", BEGAN, {}), Fact("waiver", "v", BEGAN, {})])
    later = [replace(entries[0], written_at=entries[1].written_at + timedelta(seconds=1))]

    assert list(order_faults([*later, entries[1]])) == [
        "entry 2: written before entry 1, by its own word"
    ]


def test_the_digest_is_the_sha256_of_what_the_page_says() -> None:
    """An outsider can recompute it: the form of docs/history.md, with hashlib and json alone."""
    fact = Fact("waiver", "w", BEGAN, {"b": 1, "a": "ü"})
    content = hashlib.sha256(
        '["waiver","w","2031-03-14T07:00:00.000000Z",{"a":"ü","b":1}]'.encode()
    ).hexdigest()
    at = BEGAN + timedelta(minutes=1)
    entry = link(fact, number=1, previous=FIRST, written_at=at)
    whole = ["curewright entry 1", 1, "waiver", "w", content, "2031-03-14T07:01:00.000000Z", FIRST]

    assert content_sha256(fact) == content
    assert entry.digest == hashlib.sha256(
        json.dumps(whole, separators=(",", ":")).encode()
    ).hexdigest()  # fmt: skip


@given(
    st.dictionaries(
        st.text(max_size=4), st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    )
)
def test_the_same_values_are_the_same_bytes(values: dict[str, float]) -> None:
    """In whatever order they were put in; and they come back the same."""
    turned = dict(reversed(list(values.items())))

    assert canonical(values) == canonical(turned)
    assert json.loads(canonical(values)) == values


@given(st.lists(st.datetimes(timezones=st.just(UTC)), min_size=2))
def test_stamps_sort_as_their_times(times: list[datetime]) -> None:
    """To the microsecond."""
    ordered = sorted(times)

    assert all(stamp(a) <= stamp(b) for a, b in pairwise(ordered) if a.year > 999)
