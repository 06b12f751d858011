"""What reaches a terminal: no control code, and letters that can be written."""

from __future__ import annotations

import io
import json
import sys
import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from fitcheck.ground.streams import bare, guarded, json_line, plain

#: Unicode's own categories: Cc is a control; of Cf, those that turn the direction (UAX 9).
TURNING = set("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@given(st.text())
def test_no_control_code_is_left(text):
    shown = plain(text)
    assert not [sign for sign in shown if unicodedata.category(sign) == "Cc" and sign not in "\n\t\r"]
    assert not TURNING & set(shown)
    assert plain(shown) == shown


@given(st.text(alphabet=st.characters(categories=["L", "N", "P", "Zs"])))
def test_ordinary_text_is_left_as_it_is(text):
    assert plain(text) == text


def test_ends_of_lines_are_left_and_a_lone_return_is_not():
    assert plain("1,2\r\n3\n\tx") == "1,2\r\n3\n\tx"
    assert plain("good\rbad") == "good\\u000dbad"


@given(st.text())
def test_json_stays_the_same_json(text):
    assert json.loads(plain(json.dumps([text], ensure_ascii=False))) == [text]


def test_what_is_written_while_a_command_runs_is_plain(monkeypatch):
    out, err = io.StringIO(), io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    with guarded():
        print("4 port \x1b]0;title\x07")
        print("± 1/64 in, café, \N{CANOE}, \udcff", file=sys.stderr)
        assert bare(sys.stdout) is out
        assert json.loads(json_line({"a": "±"})) == {"a": "±"}
    assert (sys.stdout, sys.stderr) == (out, err)
    assert out.getvalue() == "4 port \\u001b]0;title\\u0007\n"
    assert err.buffer.getvalue() == b"+- 1/64 in, cafe, \\U0001f6f6, \\udcff\n"
