from __future__ import annotations

import json
from dataclasses import fields, replace
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records.made import event, events, short_session

from benchterm.core.events import (
    Event,
    Happening,
    NoteMade,
    ReadingTaken,
    RollerTurned,
    SessionOpened,
)
from benchterm.core.facts import Facts, Mesh
from benchterm.core.stations import Axis, Station
from benchterm.records.codec import BadLine, NewerLine, decode, encode, type_name

READING = event(7, ReadingTaken(Station.FAR, Axis.ALONG, 22.5), heard="8 22.5")


def bitwise_crc32(data: bytes) -> int:
    """CRC-32 of ISO 3309 from its polynomial, bit by bit (reflected 0x04C11DB7)."""
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xEDB88320 if crc & 1 else 0)
    return crc ^ 0xFFFFFFFF


def sealed(line: dict[str, object]) -> bytes:
    """A line as another hand would write it: other contents, right checksum."""
    head = json.dumps(line, separators=(",", ":")).encode()[:-1]
    return head + b',"crc":"%08x"}\n' % bitwise_crc32(head)


def parts(one: Event) -> dict[str, object]:
    line = json.loads(encode(one))
    del line["crc"]
    return line


def test_bitwise_crc_gives_the_published_check_value():
    # Check value of CRC-32/ISO-HDLC for the digits 1 to 9, from memory.
    assert bitwise_crc32(b"123456789") == 0xCBF43926


def test_a_line_in_full():
    line = encode(READING)
    head, seal = line.split(b',"crc":')
    assert head == (
        b'{"v":1,"seq":7,"entry":7,"at":70.0,"utc":"2026-03-02T09:15:02.417Z","source":"keypad",'
        b'"heard":"8 22.5","type":"reading_taken",'
        b'"body":{"station":8,"axis":"along","value_n_cm":22.5}'
    )
    assert seal == b'"%08x"}\n' % bitwise_crc32(head)


@pytest.mark.parametrize("kind", get_args(Happening))
@given(data=st.data())
def test_every_event_reads_back_as_it_was(kind, data):
    written = data.draw(events(kind))
    line = encode(written)
    assert decode(line) == written
    assert line.count(b"\n") == 1
    assert json.loads(line)["type"] == type_name(written.what)


def test_types_of_values_come_back_too():
    what = decode(encode(READING)).what
    assert what.station is Station.FAR
    assert what.axis is Axis.ALONG
    opened = decode(encode(event(1, SessionOpened("s", "b", "0")))).what
    assert isinstance(opened.facts.mesh, Mesh)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_number_is_not_written(bad):
    with pytest.raises(ValueError, match="no line can hold"):
        encode(event(1, ReadingTaken(Station.FAR, Axis.ALONG, bad)))
    with pytest.raises(ValueError, match="no line can hold"):
        encode(replace(READING, at_s=bad))
    optional = Facts(mesh=Mesh(ceiling_n_cm=bad))
    with pytest.raises(ValueError, match="no line can hold"):
        encode(event(1, SessionOpened("s", "b", "0", optional)))


def test_text_that_is_no_unicode_is_not_written():
    with pytest.raises(ValueError, match="no line can hold"):
        encode(event(1, NoteMade("half a \udc80 character")))


def test_a_value_of_a_wrong_type_is_not_written():
    with pytest.raises(ValueError, match="no line can hold"):
        encode(event(1, RollerTurned(Station.FAR, 2.5)))


def test_every_flipped_bit_is_noticed():
    line = encode(READING)
    for bit in range(8 * len(line)):
        flipped = bytearray(line)
        flipped[bit // 8] ^= 1 << bit % 8
        with pytest.raises(BadLine):
            decode(bytes(flipped))


@given(st.binary(max_size=200))
def test_noise_is_no_event(noise):
    with pytest.raises(BadLine):
        decode(noise)


@given(st.recursive(st.none() | st.integers() | st.text() | st.floats(), st.lists))
def test_sealed_nonsense_is_no_event(nonsense):
    with pytest.raises(BadLine):
        decode(sealed({**parts(READING), "body": nonsense}))


def test_sealed_bytes_that_are_no_text_are_no_event():
    head = encode(READING)[:-19].replace(b"8 22.5", b"8 \xff\xfe")
    with pytest.raises(BadLine):
        decode(head + b',"crc":"%08x"}\n' % bitwise_crc32(head))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"type": "reading_guessed"}, "'reading_guessed' is no event that this version knows"),
        ({"mood": "fine"}, "mood"),
        ({"body": {"station": 8, "axis": "along"}}, "value_n_cm"),
        ({"body": {"station": 12, "axis": "along", "value_n_cm": 22.5}}, "12"),
        ({"body": {"station": 8, "axis": "along", "value_n_cm": None}}, "value_n_cm"),
        ({"body": {"station": 8, "axis": "along", "value_n_cm": 22.5, "by": "me"}}, "know: by"),
        ({"source": "rumour"}, "rumour"),
        ({"v": 0}, "there is no format 0"),
    ],
)
def test_lines_that_are_no_event_say_why(change, says):
    with pytest.raises(BadLine, match=says):
        decode(sealed({**parts(READING), **change}))


def test_an_unknown_field_deep_inside_is_named():
    line = parts(event(1, SessionOpened("s", "b", "0")))
    line["body"]["facts"]["mesh"]["colour"] = "yellow"
    with pytest.raises(BadLine, match=r"session_opened.*: facts\.mesh\.colour"):
        decode(sealed(line))


def test_a_field_that_an_older_version_did_not_write_has_its_default():
    line = parts(event(1, SessionOpened("s", "b", "0")))
    del line["body"]["facts"]["mesh"]["material"]
    del line["body"]["practice"]
    assert decode(sealed(line)) == event(1, SessionOpened("s", "b", "0"))


@pytest.mark.parametrize("more", [{}, {"new": 1}, {"type": "new_event"}, {"body": [1]}])
def test_a_later_format_is_told_from_damage_whatever_else_is_new_in_it(more):
    with pytest.raises(NewerLine, match="format 2, this version reads format 1"):
        decode(sealed({**parts(READING), "v": 2, **more}))


def test_every_field_of_every_event_is_in_its_line():
    for entry in short_session():
        for one in entry:
            body = json.loads(encode(one))["body"]
            assert list(body) == [field.name for field in fields(one.what)]
