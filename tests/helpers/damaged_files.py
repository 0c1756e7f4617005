"""Files of every kind that is read, damaged at random, and what may come of them."""

from __future__ import annotations

from hypothesis import strategies as st

from tests.helpers.wild_arguments import outcome

KINDS = {
    "practice": ("f.toml", ["overlay", "16", "--practice", "f.toml", "-o", "c.json"]),
    "case": ("f.toml", ["overlay", "--case", "f.toml", "-o", "c.json"]),
    "arch": ("f.toml", ["arch", "show", "f.toml"]),
    "day": ("f.toml", ["day", "f.toml"]),
    "list": ("f.csv", ["day", "f.csv"]),
    "landmarks": ("f.csv", ["arch", "fit", "--date", "2026-11-25", "--landmarks", "f.csv"]),
}
# Good files, one of each kind, to be damaged.
GOOD = {
    "practice": b'format = "sheetmark-practice/1"\nname = "Quay"\n[page]\npaper = "a4"\n',
    "case": b'format = "sheetmark-case/1"\ntreat = ["16"]\nage = 30\nmissing = ["15"]\n',
    "arch": b'format = "sheetmark-arch/1"\nname = "ours"\ntitle = "Ours"\n[upper]\nrow = ["1"]\n',
    "day": b'format = "sheetmark-day/1"\n[[case]]\nteeth = 16\ntime = "8:30"\n',
    "list": b"time,teeth,exceptions\n8:30,16,15 missing\n9:00,#3,\n",
    "landmarks": b"tooth,x,y\n16,-20,5\n13,-15,25\n11,-4,32\n21,4,32\n23,15,25\n26,20,5\n",
}
damage = st.lists(
    st.tuples(
        st.floats(0, 1),
        st.integers(0, 12),
        st.one_of(
            st.binary(max_size=6),
            st.sampled_from([b"#", b'"', b"[", b"=", b"\x00", b"\xff", b"9" * 400, b"a." * 400]),
        ),
    ),
    max_size=4,
)


def damaged(content: bytes, changes: list[tuple[float, int, bytes]]) -> bytes:
    """The file with pieces cut out and others put in."""
    for place, cut, piece in changes:
        at = int(place * len(content))
        content = content[:at] + piece + content[at + cut :]
    return content


def check_file(kind: str, content: bytes) -> None:
    """Done or bad input, in one line a problem."""
    name, arguments = KINDS[kind]
    code, out, err = outcome(arguments, {name: content})
    assert code in (0, 2), (kind, content, err)
    assert "Traceback" not in out + err, (kind, content, err)
