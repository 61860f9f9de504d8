"""Runs found from the command line, by words and conditions."""

from __future__ import annotations

import pytest

from tests.running import Cli


def test_a_condition_lists_the_runs_with_the_value(on_samples: Cli) -> None:
    ran = on_samples("find", "rebound rl > 20")
    assert (ran.status, ran.err) == (0, "")
    head, row = ran.out.splitlines()
    assert head == "Runs: 1"
    assert row.endswith("RL rebound 26")
    told = on_samples("find", "rebound rl > 20", "--json").json
    assert (told["found"], told["runs_total"]) == ([], 1)
    [run] = told["runs"]
    assert run["id"] in row
    [hit] = run["matched"]
    assert (hit["path"], hit["si"], hit["told"]) == ("RL.rebound_bleed", 26.0, "RL rebound 26")


def test_the_limit_holds_for_runs_and_says_how_many_more(on_samples: Cli) -> None:
    total = on_samples("find", "driver = teo", "--json").json["runs_total"]
    assert total > 2
    ran = on_samples("find", "driver = teo", "--limit", "2")
    assert ran.out.startswith(f"Runs: {total}\n")
    assert f"{total - 2} older ones are not shown." in ran.out


def test_words_find_kept_set_ups_and_runs(on_samples: Cli) -> None:
    told = on_samples("find", "nose", "--json").json
    assert told["found"]
    assert told["runs"]
    assert on_samples("find", "--json").json["runs"] == []


@pytest.mark.parametrize(
    ("text", "why"),
    [("rebond > 8", "did you mean rebound"), ("rebound >", "write it like rebound > 8"),
     ("hot > 1.9 N", "“N” is not a unit of pressure")],
)  # fmt: skip
def test_a_mistake_says_what_was_expected(on_samples: Cli, text: str, why: str) -> None:
    ran = on_samples("find", text)
    assert (ran.status, ran.out) == (2, "")
    assert why in ran.err
