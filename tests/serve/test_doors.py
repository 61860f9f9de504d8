"""Names and addresses, links, phrases and passes, each by itself."""

from __future__ import annotations

import socket

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.errors import BadInput
from trackside.serve import passes
from trackside.serve.address import Address, parted
from trackside.serve.passes import (
    LEAST_PHRASE,
    MOST_NETWORKS,
    MOST_PASSES,
    PASS_LASTS,
    TRIES,
    Link,
    Passes,
    Phrase,
)
from trackside.serve.policy import policy


class Clock:
    now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.mark.parametrize(
    ("asked", "reached", "known"),
    [
        ("127.0.0.1:8000", "127.0.0.1", True),
        ("localhost:8000", "127.0.0.1", True),
        ("LOCALHOST:8000", "127.0.0.1", True),
        ("[::1]:8000", "::1", True),
        ("localhost:9000", "127.0.0.1", True),  # a tunnel that begins at another port
        ("127.0.0.1", "127.0.0.1", True),
        ("localhost:8000", "192.0.2.7", False),  # no browser on the network says so
        ("192.0.2.7:8000", "192.0.2.7", True),
        ("192.0.2.7:9000", "192.0.2.7", False),
        ("192.0.2.8:8000", "192.0.2.7", False),
        ("192.0.2.7:8000", "::ffff:192.0.2.7", True),
        ("[fd00::2]:8000", "fd00::2", True),
        ("evil.example:8000", "127.0.0.1", False),
        ("localhost.evil.example", "127.0.0.1", False),
        ("127.0.0.1:8000@evil.example", "127.0.0.1", False),
        ("127.0.0.1:port", "127.0.0.1", False),
        ("pits.example", "127.0.0.1", True),
        ("pits.example:8000", "127.0.0.1", True),
        ("pits.example:9999", "127.0.0.1", False),
        ("Pits.Example.", "127.0.0.1", True),
        ("garage.example:8443", "127.0.0.1", True),
        ("garage.example", "127.0.0.1", False),
    ],
)
def test_which_names_are_ours(asked: str, reached: str, known: bool) -> None:
    address = Address("127.0.0.1", 8000, ("pits.example", "garage.example:8443"))
    assert address.knows(asked, reached) is known


@given(st.text(max_size=40))
def test_no_text_is_a_name_by_accident(text: str) -> None:
    name, _ = parted(text)
    if Address().knows(text, "127.0.0.1"):
        assert name in ("localhost", "::1") or name.startswith("127.")


@pytest.mark.parametrize(
    ("host", "names", "beyond"),
    [
        ("127.0.0.1", (), False),
        ("localhost", (), False),
        ("::1", (), False),
        ("127.8.8.8", (), False),
        ("0.0.0.0", (), True),
        ("::", (), True),
        ("192.0.2.7", (), True),
        ("laptop.example", (), True),
        ("127.0.0.1", ("pits.example",), True),
    ],
)
def test_who_is_meant_to_reach_it(host: str, names: tuple[str, ...], beyond: bool) -> None:
    assert Address(host, 8000, names).beyond is beyond


def test_a_port_in_use_and_an_address_of_another_machine() -> None:
    with Address("127.0.0.1", 0).listen() as first:
        port = first.getsockname()[1]
        with pytest.raises(BadInput, match=f"port {port} is in use: name a free one with --port"):
            Address("127.0.0.1", port).listen()
    # TEST-NET-3 of RFC 5737 (from memory): no machine's own; nothing is sent there.
    with pytest.raises(BadInput, match=r"203\.0\.113\.9 is not an address of this machine"):
        Address("203.0.113.9", 0).listen()
    with pytest.raises(BadInput, match="is not an address of this machine"):
        Address("no such name", 0).listen()


def test_a_free_port_listens_on_loopback_alone() -> None:
    with Address("127.0.0.1", 0).listen() as listening:
        assert listening.family is socket.AF_INET
        assert listening.getsockname()[0] == "127.0.0.1"


# ── passes, links, phrases ──────────────────────────────────────────────────────────────────────


def test_a_pass_holds_for_a_day_at_the_track() -> None:
    clock = Clock()
    kept = Passes(clock)
    token = kept.issue()
    assert kept.holds(token)
    assert not kept.holds(token + "x")
    assert not kept.holds("")
    clock.now += PASS_LASTS - 1
    assert kept.holds(token)
    clock.now += 2
    assert not kept.holds(token)


def test_of_too_many_passes_the_oldest_ends() -> None:
    kept = Passes(Clock())
    tokens = [kept.issue() for _ in range(MOST_PASSES + 1)]
    assert len(set(tokens)) == MOST_PASSES + 1
    assert not kept.holds(tokens[0])
    assert all(kept.holds(token) for token in tokens[1:])


def test_no_secret_is_kept_as_it_is() -> None:
    kept = Passes(Clock())
    token, phrase = kept.issue(), Phrase("four corners of one car", Clock())
    assert token not in repr(vars(kept))
    assert "four corners" not in repr(vars(phrase))


def test_digests_are_compared_in_constant_time(monkeypatch: pytest.MonkeyPatch) -> None:
    compared: list[tuple[bytes, bytes]] = []
    real = passes.hmac.compare_digest

    def watching(one: bytes, other: bytes) -> bool:
        compared.append((one, other))
        return real(one, other)

    monkeypatch.setattr(passes.hmac, "compare_digest", watching)
    kept = Passes(Clock())
    for _ in range(5):
        kept.issue()
    first = kept.issue()
    assert kept.holds(first)
    assert not kept.holds("other")
    assert len(compared) == 12  # every pass each time, whether it was found or not
    Link().use("x")
    Phrase("y", Clock()).is_right("z", "here")
    assert len(compared) == 14
    assert {len(digest) for pair in compared for digest in pair} == {32}


def test_a_link_is_used_up() -> None:
    link = Link()
    key = link.key
    assert not link.use(key + "x")
    assert not link.use("")
    assert link.use(key)
    assert not link.use(key)
    assert link.use(link.key)


def test_wrong_phrases_are_counted_by_the_network_they_come_from() -> None:
    clock = Clock()
    phrase = Phrase("x" * LEAST_PHRASE, clock)
    for _ in range(TRIES):
        assert phrase.wait("here") == 0
        assert not phrase.is_right("wrong", "here")
        clock.now += 1
    assert phrase.wait("here") == pytest.approx(60 - TRIES)
    assert phrase.wait("there") == 0
    clock.now += 60 - TRIES + 0.1
    assert phrase.wait("here") == 0
    for number in range(MOST_NETWORKS + 10):
        phrase.is_right("wrong", f"address {number}")
    assert phrase.wait("another") == 0
    for _ in range(TRIES):
        phrase.is_right("wrong", "2001:db8::1")
    assert phrase.wait("2001:db8::2") > 0  # the machine chooses the rest of its address itself
    assert phrase.is_right("x" * LEAST_PHRASE, "here")


def test_the_policy_names_no_place_but_ours() -> None:
    assert policy("pits.example").count("pits.example") == 2
    assert "http" not in policy("pits.example")
    assert "unsafe-inline" not in policy("").partition("style-src")[0]
    assert "unsafe-eval" not in policy("")
