"""Frames, header slots and batches, byte by byte."""

import struct
import zlib

import pytest

from mobile.storage import batch
from mobile.storage.batch import Delete, Put, UnknownOp, assemble, decode_payload, encode_batch
from mobile.storage.frames import (
    HEADER_BYTES,
    MAX_PAYLOAD_BYTES,
    Position,
    Span,
    encode_frame,
    scan,
)
from mobile.storage.header import DATA_START, Header, choose, decode_slot, encode_slot, first_block


def test_a_frame_is_laid_out_as_documented():
    payload = b'{"ops":[]}'
    data = encode_frame(7, payload)
    assert data[:4] == b"\xf5SJ2"
    assert struct.unpack_from("<I", data, 4) == (len(payload),)
    assert struct.unpack_from("<Q", data, 8) == (7,)
    assert struct.unpack_from("<I", data, 16) == (zlib.crc32(data[:16] + data[20:24]),)
    assert struct.unpack_from("<I", data, 20) == (zlib.crc32(payload),)
    assert data[24:] == payload


def test_a_slot_is_laid_out_as_documented():
    data = encode_slot(Header(schema_version=3, seq=9, device="abcdefgh"))
    assert len(data) == 64
    assert data[:4] == b"\xf5SH\0"
    assert struct.unpack_from("<HHQ", data, 4) == (2, 3, 9)
    assert data[16:32] == b"abcdefgh".ljust(16, b"\0")
    assert struct.unpack_from("<IIQQI", data, 32) == (0, 0, 8192, 0, 0)
    assert struct.unpack_from("<I", data, 60) == (zlib.crc32(data[:60]),)


@pytest.mark.parametrize("size", [0, 1, MAX_PAYLOAD_BYTES + 1])
def test_a_payload_outside_the_bounds_is_refused(size):
    with pytest.raises(ValueError, match="bytes"):
        encode_frame(1, b"x" * size)


def test_the_scanner_finds_frames_damage_and_tail():
    one, two, three = (encode_frame(n, b'{"ops":[]}') for n in (1, 2, 3))
    broken = bytearray(two)
    broken[-1] ^= 1
    data = one + bytes(broken) + three + b"half a fra"
    found = scan(data)
    assert [frame.seq for frame in found.frames] == [1, 3]
    assert found.damaged == (Span(start=len(one), end=2 * len(one)),)
    assert found.tail == Span(start=3 * len(one), end=len(data))


def test_a_frame_inside_a_damaged_payload_is_not_taken_for_two():
    inner = encode_frame(5, b'{"ops":[]}')
    outer = bytearray(encode_frame(1, b"{" + b" " * 40 + b"}"))
    at = HEADER_BYTES + 4
    outer[at : at + len(inner)] = inner
    assert [frame.start for frame in scan(bytes(outer)).frames] == [at]


def test_a_damaged_length_does_not_swallow_the_frames_behind():
    data = bytearray(encode_frame(1, b'{"ops":[]}') + encode_frame(2, b'{"ops":[]}'))
    data[4:8] = struct.pack("<I", 1 << 17)
    assert [frame.seq for frame in scan(bytes(data)).frames] == [2]


def test_the_valid_slot_with_the_higher_number_counts():
    block = bytearray(first_block(Header(schema_version=1, seq=4, device="olddevice")))
    block[4096 : 4096 + 64] = encode_slot(Header(schema_version=1, seq=5, device="newdevice"))
    assert choose(bytes(block)).device == "newdevice"
    block[4100] ^= 1
    assert choose(bytes(block)).device == "olddevice"
    block[5] ^= 1
    assert choose(bytes(block)) is None
    assert len(block) == DATA_START


@pytest.mark.parametrize("device", ["", "short", "seventeen_letters", "UPPERCASE1", "dev:ice00"])
def test_a_device_id_that_a_record_id_cannot_hold_is_refused(device):
    with pytest.raises(ValueError, match="device id"):
        Header(schema_version=1, seq=0, device=device)


def test_every_flipped_bit_of_a_slot_is_noticed():
    data = encode_slot(Header(schema_version=1, seq=0, device="abcdefgh"))
    for bit in range(len(data) * 8):
        flipped = bytearray(data)
        flipped[bit // 8] ^= 1 << bit % 8
        assert decode_slot(bytes(flipped)) is None


def test_ops_come_back_from_their_payload():
    ops = (Put("records", "a:1", {"x": [1, "é"]}), Delete("meta", "draft"))
    (payload,) = encode_batch(ops)
    assert decode_payload(payload).ops == ops


@pytest.mark.parametrize(
    "payload", [b"[]", b"{}", b'{"ops":1}', b'{"ops":[1]}', b'{"ops":[[]]}', b"[" * 200_000]
)
def test_a_payload_that_is_no_batch_is_an_error(payload):
    with pytest.raises(ValueError, match=r"not an? |nested"):
        decode_payload(payload)


@pytest.mark.parametrize("payload", [b'{"ops":[["merge","a"]]}', b'{"ops":[],"later":1}'])
def test_a_batch_of_a_newer_app_is_told_apart(payload):
    with pytest.raises(UnknownOp):
        decode_payload(payload)


def _frames(payloads, first_seq=1):
    data = b"".join(
        encode_frame(seq, payload) for seq, payload in enumerate(payloads, start=first_seq)
    )
    return scan(data).frames


def _three_parts(monkeypatch):
    monkeypatch.setattr(batch, "PART_BYTES", 20)
    payloads = encode_batch([Put("records", f"a:{n}", {}) for n in range(3)])
    assert [decode_payload(payload).number for payload in payloads] == [1, 2, 3]
    return payloads


def test_parts_are_one_commit(monkeypatch):
    frames = _frames(_three_parts(monkeypatch))
    assert [op.id for op in assemble(frames, after=Position(end=0)).ops] == ["a:0", "a:1", "a:2"]


@pytest.mark.parametrize("missing", [0, 1, 2])
def test_an_incomplete_last_commit_is_dropped_whole(monkeypatch, missing):
    before = _frames([b'{"ops":[["put","records","z:1",{}]]}'])
    frames = list(_frames(_three_parts(monkeypatch), first_seq=2))
    del frames[missing]
    result = assemble([*before, *frames], after=Position(end=0))
    assert [op.id for op in result.ops] == ["z:1"]
    assert (result.at.end, result.at.seq, result.lost) == (before[0].end, 1, 0)


@pytest.mark.parametrize("missing", [0, 1, 2])
def test_a_closed_commit_loses_only_its_damaged_part(monkeypatch, missing):
    frames = list(_frames([*_three_parts(monkeypatch), batch.CLOSING]))
    del frames[missing]
    result = assemble(frames, after=Position(end=0))
    assert [op.id for op in result.ops] == [f"a:{n}" for n in range(3) if n != missing]
    assert (result.at.seq, result.lost) == (4, 1)


def test_a_frame_out_of_order_is_not_applied():
    one, two = _frames([b'{"ops":[["del","meta","a"]]}', b'{"ops":[["del","meta","b"]]}'])
    result = assemble([one, two, one], after=Position(end=0))
    assert [op.id for op in result.ops] == ["a", "b"]
    assert result.unreadable == [Span(start=one.start, end=one.end)]
