"""What a terminal sends, in pieces of any size. Bracketed paste as xterm has it (from memory)."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.tui.terminal_input import BEGIN, END, Incoming

SENT = {
    "keys": ("nh\x1b[A\x1b", "nh\x1b[A\x1b"),
    "a paste": (f"a{BEGIN}kerb é 漢{END}b", f"a{BEGIN}kerb é 漢{END}b"),
    "commands in a paste": (
        f"{BEGIN}x\x1b[31mq\x1b]52;c;eA==\x1b\\{END}\x1b[B",
        f"{BEGIN}x[31mq]52;c;eA==\\{END}\x1b[B",
    ),
    "two": (f"{BEGIN}\x1b{END}{BEGIN}\x1b[201\x1bq{END}q", f"{BEGIN}{END}{BEGIN}[201q{END}q"),
    "the half of an end": (f"{BEGIN}a\x1b[20x{END}", f"{BEGIN}a[20x{END}"),
}


@pytest.mark.parametrize(("sent", "read"), SENT.values(), ids=list(SENT))
@given(cuts=st.lists(st.integers(0, 60)))
def test_no_escape_is_left_in_a_paste_however_it_is_cut(
    sent: str, read: str, cuts: list[int]
) -> None:
    reader, whole = Incoming(), sent.encode()
    at = sorted({0, len(whole), *(cut for cut in cuts if cut < len(whole))})
    pieces = [whole[start:end] for start, end in pairwise(at)]
    assert "".join(map(reader.decode, pieces)) == read


def test_a_key_is_not_kept_back() -> None:
    reader = Incoming()
    for key in ("\x1b", "q", "\x1b[2"):
        assert reader.decode(key.encode()) == key


def test_another_encoding_is_no_end() -> None:
    reader = Incoming()
    assert reader.decode(b"caf\xe9 n") == "caf\ufffd n"
    assert reader.decode("é".encode()[:1]) == ""
    assert reader.decode("é".encode()[1:]) == "é"
