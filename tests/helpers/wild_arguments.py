"""Arbitrary argument lists for the command, and what may come of them."""

from __future__ import annotations

import contextlib
import io
import tempfile
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from hypothesis import event
from hypothesis import strategies as st

from sheetmark.cli.app import run
from tests.helpers.cases import LOWER, UPPER

# Anything a shell can hand over and a bit more: bytes that are no text come as lone surrogates.
wild = st.text(st.characters(), max_size=12)
numbers = st.one_of(
    st.sampled_from(
        ["0", "-1", "1e999", "nan", "-inf", "1_000", "٣", "0x10", "5" * 5000, "1e-320"]
    ),
    st.integers().map(str),
    st.floats().map(str),
)
plausible = st.sampled_from(
    [
        *("16", "26,27", "UR6", "LLE", "A", "t", "75", "17-13", "18-28", "13-", "-", ",", "99"),
        *("15 missing", "24-26 bridge", "15 gap 3", "14 facial -2", "13 rotated", "11 closed"),
        *("15 gap 1; 15 gap 2", "16 pontic implant", ";", "46 flying", "16 rotated 1e999"),
        *("152", "127", "140x130", "80", "300x300", "1x", "x", "0.5,1,1.5,2,2.5,2.6", "5,5,,"),
        *("iso", "universal", "palmer", "crown", "root-canal", "full-arch", "cervical", "two-size"),
        *("letter", "a4", "latex", "nitrile", "tight", "adult-mean", "primary", "age-8", "crowns"),
        *(
            "case.pdf",
            "case.svg",
            "case.json",
            "no/case.pdf",
            ".",
            "..",
            "a\x00.svg",
            "\udcff.json",
        ),
        *(".toml", "no.toml", "..toml", "\x00.toml", "x" * 300 + ".json", "-x", "--", "--help"),
    ]
)
values = st.one_of(plausible, numbers, wild, st.lists(plausible, max_size=3).map(" ".join))
# Not --install-completion, which writes into the home folder.
options = st.sampled_from(
    [
        *("--output", "-o", "--notation", "--for", "--expose", "--more", "--missing", "--present"),
        *("--with", "--anchor", "--slit", "--access", "--age", "--arch", "--sheet", "--paper"),
        *("--punch", "--material", "--sizing", "--ease", "--shift", "--no-shift", "--reference"),
        *("--card", "--practice", "--printer"),
        *("--help", "--version", "--nonsense", "-", "--"),
    ]
)
fitting = st.sampled_from(
    [
        *(("-o", "case.pdf"), ("-o", "case.svg"), ("--output", "case.json"), ("-o", "\udcff.json")),
        *(("--for", "crown"), ("--for", "root-canal"), ("--for", "full-arch"), ("--more", "2")),
        *(("--expose", "18-28"), ("--expose", "34-44"), ("--present", "18,28,38,48")),
        *(("--missing", "17,27"), ("--missing", "12 22 31"), ("--with", "24 pontic")),
        *(("--with", "35 facial 2 rotated 40"), ("--anchor", "14"), ("--slit", "15-14")),
        *(("--access", "tight"), ("--age", "9"), ("--age", "50"), ("--arch", "age-8")),
        *(("--sheet", "127"), ("--sheet", "99.9x120"), ("--paper", "letter"), ("--ease", "1.5")),
        *(("--punch", "2,2"), ("--punch", "0.3,5"), ("--material", "nitrile")),
        *(
            ("--sizing", "two-size"),
            ("--printer", "none"),
            ("--reference", "a 'b' \"c\" – ü"),
            ("--reference", "席"),
        ),
    ]
).map(list)
# Values that get past the first look at them: file names, numbers and words in odd company.
names = st.tuples(
    # Nothing that leads out of the test's own folder.
    st.one_of(
        st.sampled_from(["a\x00", "\udcff", "x" * 300, "no/a", "-"]),
        wild.filter(lambda text: not text.startswith("/") and ".." not in text),
    ),
    st.sampled_from([".pdf", ".svg", ".json", ".toml"]),
).map("".join)
several = st.tuples(st.sampled_from([",", "x", " "]), st.lists(numbers, max_size=4)).map(
    lambda both: both[0].join(both[1])
)
terms = st.sampled_from(["15", "24-26", "facial", "gap", "rotated", "missing", "pontic", "bridge"])
states = st.tuples(
    st.sampled_from(["15 ", "13 facial ", ""]),
    st.lists(st.one_of(terms, numbers, wild), max_size=4).map(" ".join),
).map("".join)
aimed = st.one_of(
    st.tuples(st.sampled_from(["-o", "--arch", "--practice"]), names),
    st.tuples(st.sampled_from(["--ease", "--more", "--age"]), numbers),
    st.tuples(st.sampled_from(["--sheet", "--punch"]), several),
    st.tuples(st.just("--with"), states),
    st.tuples(options, values),
).map(list)
pairs = st.integers(0, 4).flatmap(lambda n: fitting if n else aimed)
teeth = st.sampled_from([UPPER[1:-1], LOWER[1:-1]]).flatmap(
    lambda jaw: st.lists(st.sampled_from(jaw), min_size=1, max_size=2)
)

# Anything at all; a command with anything; a case with options, right or wrong.
chaos = st.lists(st.one_of(options, values), max_size=8)
after_a_command = st.tuples(
    st.sampled_from([["overlay"], ["arch", "show"], ["arch", "list"], ["arch"]]), chaos
).map(lambda both: [*both[0], *both[1]])
nearly_right = st.tuples(teeth, st.lists(pairs, max_size=3)).map(
    lambda both: ["overlay", *both[0], *(word for pair in both[1] for word in pair)]
)


def outcome(
    arguments: list[str], files: Mapping[str, bytes] = MappingProxyType({})
) -> tuple[int, str, str]:
    """Exit code, stdout and stderr, with streams that encode as a terminal's do, beside files."""
    out = io.TextIOWrapper(io.BytesIO(), "utf-8", "strict")
    err = io.TextIOWrapper(io.BytesIO(), "utf-8", "backslashreplace")
    with (
        tempfile.TemporaryDirectory() as folder,
        contextlib.chdir(folder),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        for name, content in files.items():
            Path(name).write_bytes(content)
        code = run(arguments)
    texts = []
    for stream in (out, err):
        stream.flush()
        texts.append(stream.buffer.getvalue().decode())
    return code, texts[0], texts[1]


def check(arguments: list[str]) -> None:
    """Done or bad input, and in one line for each problem."""
    code, out, err = outcome(arguments)
    event(f"exit code {code}")
    assert code in (0, 2), err
    assert "Traceback" not in out + err
    if code == 2:
        assert out == ""
        lines = err.splitlines()
        assert lines
        assert all(line.startswith("sheetmark: error: ") for line in lines), err
