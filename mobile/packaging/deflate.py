"""Raw deflate (RFC 1951) whose output depends on the input alone.

zlib's output differs between its builds and successors, so the same sources would give another
archive, another hash and another build id on another machine. This one is whole numbers and
Python's own dictionaries, and takes a few seconds for the archive; any inflater reads it.
"""

from collections.abc import Iterable, Iterator
from heapq import heapify, heappop, heappush
from typing import Final

WINDOW: Final = 32768
SHORTEST: Final = 4  # a match of three bytes seldom pays
LONGEST: Final = 258
_GOOD: Final = 64  # a match as long as this is taken without looking further
_TRIES: Final = 8  # places looked at for each match
_END: Final = 256
_CODE_ORDER: Final = (16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15)
_LONGEST_CODE: Final = 15
_LONGEST_CODE_OF_CODES: Final = 7


def _ladder(first: int, steps: Iterable[int]) -> list[tuple[int, int]]:
    """Return (base, extra bits) of each code."""
    rungs: list[tuple[int, int]] = []
    for bits in steps:
        rungs.append((first, bits))
        first += 1 << bits
    return rungs


_LENGTHS: Final = [
    *_ladder(3, [0] * 8 + [bits for bits in range(1, 6) for _ in range(4)])[:-1],
    (227, 5),
    (LONGEST, 0),
]
_DISTANCES: Final = _ladder(1, [0, 0, *(bits for bits in range(14) for _ in range(2))])


def _codes(rungs: list[tuple[int, int]], last: int) -> list[int]:
    """Return value -> the index of its code."""
    found = [0] * (last + 1)
    for code, (base, _) in enumerate(rungs):
        end = rungs[code + 1][0] if code + 1 < len(rungs) else last + 1
        found[base:end] = [code] * (end - base)
    return found


_LENGTH_CODE: Final = _codes(_LENGTHS, LONGEST)
_DISTANCE_CODE: Final = _codes(_DISTANCES, WINDOW)


def deflate(data: bytes) -> bytes:
    """Return the data compressed: one block with its own codes."""
    tokens = list(_tokens(data))
    literals, distances = [0] * 286, [0] * 30
    literals[_END] = 1
    for length, distance in tokens:
        if distance:
            literals[257 + _LENGTH_CODE[length]] += 1
            distances[_DISTANCE_CODE[distance]] += 1
        else:
            literals[length] += 1
    if not any(distances):
        distances[0] = 1  # one code must be there
    literal_bits = code_lengths(literals, _LONGEST_CODE)
    distance_bits = code_lengths(distances, _LONGEST_CODE)
    out = _Bits()
    out.put(1, 1)  # the last block
    out.put(2, 2)  # with codes of its own
    _put_codes(out, literal_bits, distance_bits)
    _put_tokens(out, tokens, _canonical(literal_bits), _canonical(distance_bits))
    return out.bytes()


def _tokens(data: bytes) -> Iterator[tuple[int, int]]:
    """Yield (byte, 0) for a literal and (length, distance) for a match."""
    heads: dict[bytes, int] = {}
    earlier = [-1] * len(data)
    at, end = 0, len(data)
    while at < end:
        length, distance = _longest(data, at, heads, earlier)
        if length and length < _GOOD:
            _remember(data, at, at + 1, heads, earlier)
            later, _ = _longest(data, at + 1, heads, earlier)
            if later > length:
                yield data[at], 0
                at += 1
                continue
            _remember(data, at + 1, at + length, heads, earlier)
        else:
            _remember(data, at, at + (length or 1), heads, earlier)
        yield (length, distance) if length else (data[at], 0)
        at += length or 1


def _remember(
    data: bytes, start: int, stop: int, heads: dict[bytes, int], earlier: list[int]
) -> None:
    for at in range(start, stop):
        key = data[at : at + SHORTEST]
        earlier[at] = heads.get(key, -1)
        heads[key] = at


def _longest(data: bytes, at: int, heads: dict[bytes, int], earlier: list[int]) -> tuple[int, int]:
    """Return length and distance of the best match for what starts here, (0, 0) for none."""
    place = heads.get(data[at : at + SHORTEST], -1)
    most = min(LONGEST, len(data) - at)
    best, distance = 0, 0
    for _ in range(_TRIES):
        if place < 0 or at - place > WINDOW or best >= most:
            break
        if data[place : place + best + 1] == data[at : at + best + 1]:
            best = _same(data, place, at, max(best + 1, SHORTEST), most)
            distance = at - place
        place = earlier[place]
    return (best, distance) if best >= SHORTEST else (0, 0)


def _same(data: bytes, one: int, other: int, known: int, most: int) -> int:
    """Return how many bytes are the same, of which some are known to be."""
    length = min(known, most)
    step = 16
    while step:
        while length + step <= most and (
            data[one + length : one + length + step] == data[other + length : other + length + step]
        ):
            length += step
        step //= 2
    return length


def code_lengths(counts: list[int], longest: int) -> list[int]:
    """Return the bits of each symbol's code: Huffman's, none longer than allowed; 0 for unused."""
    used = [(count, symbol) for symbol, count in enumerate(counts) if count]
    lengths = [0] * len(counts)
    if len(used) == 1:
        lengths[used[0][1]] = 1
        return lengths
    while True:
        heap: list[tuple[int, int, list[int]]] = [(n, s, [s]) for n, s in used]
        heapify(heap)
        lengths = [0] * len(counts)
        serial = len(counts)
        while len(heap) > 1:
            one, other = heappop(heap), heappop(heap)
            members = one[2] + other[2]
            for symbol in members:
                lengths[symbol] += 1
            heappush(heap, (one[0] + other[0], serial, members))
            serial += 1
        if max(lengths) <= longest:
            return lengths
        used = [(count // 2 + 1, symbol) for count, symbol in used]  # flatter, until it fits


def _canonical(lengths: list[int]) -> list[tuple[int, int]]:
    """Return each symbol's code, first bit lowest, and its bits."""
    codes, code = [(0, 0)] * len(lengths), 0
    for bits in range(1, max(lengths) + 1):
        for symbol, length in enumerate(lengths):
            if length == bits:
                codes[symbol] = (int(f"{code:0{bits}b}"[::-1], 2), bits)
                code += 1
        code <<= 1
    return codes


class _Bits:
    """Bits in the order of RFC 1951: lowest first."""

    def __init__(self) -> None:
        self._done = bytearray()
        self._held = 0
        self._count = 0

    def put(self, value: int, bits: int) -> None:
        """Append a number of so many bits."""
        self._held |= value << self._count
        self._count += bits
        if self._count >= 512:
            whole = self._count // 8
            self._done += (self._held & ((1 << 8 * whole) - 1)).to_bytes(whole, "little")
            self._held >>= 8 * whole
            self._count -= 8 * whole

    def bytes(self) -> bytes:
        """Return all bits, the last byte filled up."""
        return bytes(self._done) + self._held.to_bytes((self._count + 7) // 8, "little")


def _put_codes(out: _Bits, literal_bits: list[int], distance_bits: list[int]) -> None:
    literals = max(257, *(i + 1 for i, bits in enumerate(literal_bits) if bits))
    distances = max(i + 1 for i, bits in enumerate(distance_bits) if bits)
    runs = list(_runs([*literal_bits[:literals], *distance_bits[:distances]]))
    counts = [0] * 19
    for symbol, _, _ in runs:
        counts[symbol] += 1
    lengths = code_lengths(counts, _LONGEST_CODE_OF_CODES)
    listed = max(4, *(i + 1 for i, symbol in enumerate(_CODE_ORDER) if lengths[symbol]))
    out.put(literals - 257, 5)
    out.put(distances - 1, 5)
    out.put(listed - 4, 4)
    for symbol in _CODE_ORDER[:listed]:
        out.put(lengths[symbol], 3)
    codes = _canonical(lengths)
    for symbol, extra, bits in runs:
        out.put(*codes[symbol])
        out.put(extra, bits)


def _runs(lengths: list[int]) -> Iterator[tuple[int, int, int]]:
    """Yield (symbol, extra value, extra bits) of the lengths, repeats told as such."""
    at = 0
    while at < len(lengths):
        value, end = lengths[at], at
        while end < len(lengths) and lengths[end] == value:
            end += 1
        count = end - at
        at = end
        if value:
            yield value, 0, 0
            count -= 1
        while count >= 3:
            if value:
                taken = min(count, 6)
                yield 16, taken - 3, 2
            elif count > 10:
                taken = min(count, 138)
                yield 18, taken - 11, 7
            else:
                taken = count
                yield 17, taken - 3, 3
            count -= taken
        for _ in range(count):
            yield value, 0, 0


def _put_tokens(
    out: _Bits,
    tokens: list[tuple[int, int]],
    literals: list[tuple[int, int]],
    distances: list[tuple[int, int]],
) -> None:
    for length, distance in tokens:
        if not distance:
            out.put(*literals[length])
            continue
        code = _LENGTH_CODE[length]
        base, bits = _LENGTHS[code]
        out.put(*literals[257 + code])
        out.put(length - base, bits)
        code = _DISTANCE_CODE[distance]
        base, bits = _DISTANCES[code]
        out.put(*distances[code])
        out.put(distance - base, bits)
    out.put(*literals[_END])
