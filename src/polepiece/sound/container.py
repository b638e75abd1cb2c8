"""Sizes that a sound file's own header promises, against the bytes that are there."""

import struct
from typing import BinaryIO

UNKNOWN = 0xFFFFFFFF
COMPRESSED = {0x02, 0x11}  # ADPCM of two kinds: four bits a sample are no damage there
_BITS = {8, 16, 24, 32, 64}


def size_fault(file: BinaryIO, size: int) -> str:
    """Return a sentence when the file is empty, cut short or contradicts itself; else an empty string.

    RIFF (WAV, RF64) and AIFF name the length of each chunk; a truncated copy ends before it. FLAC is left to
    the decoder, which notices. ``file`` is open in binary mode at its start, ``size`` its length in bytes.
    """
    if size == 0:
        return "the file is empty (0 bytes)."
    head = file.read(12)
    if len(head) == 12 and head[:4] in (b"RIFF", b"RIFX", b"RF64") and head[8:] == b"WAVE":
        return _wav_fault(file, size, big=head[:4] == b"RIFX", wide=head[:4] == b"RF64")
    if len(head) == 12 and head[:4] == b"FORM" and head[8:] in (b"AIFF", b"AIFC"):
        return _aiff_fault(file, size)
    if head[:4] in (b"RIFF", b"FORM", b"fLaC") and size < 44:
        return f"the file ends inside its header ({size} bytes)."
    return ""


def _short(promised: int, present: int) -> str:
    return (
        f"the header promises {promised} bytes of sound, the file holds {present}: it is cut short. "
        "Copy or export it again."
    )


def _wav_fault(file: BinaryIO, size: int, *, big: bool, wide: bool) -> str:
    order, ended = (
        ">" if big else "<",
        "the file ends inside its header: it is cut short. Copy or export it again.",
    )
    long_size: int | None = None
    while len(head := file.read(8)) == 8:
        name, length = head[:4], struct.unpack(order + "I", head[4:])[0]
        start = file.tell()
        if name == b"ds64" and wide and length >= 24:
            sizes = file.read(24)
            if len(sizes) < 24:
                return ended
            long_size = struct.unpack("<QQQ", sizes)[1]
        if name == b"fmt " and length >= 16:
            fields = file.read(16)
            if len(fields) < 16:
                return ended
            fault = _wav_format_fault(struct.unpack(order + "HHIIHH", fields))
            if fault:
                return fault
        if name == b"data":
            if length == UNKNOWN and long_size is not None:
                length = long_size
            if length == UNKNOWN:
                return "the header was never finished (its length is open): the recorder did not close it."
            if length == 0:
                return "the file holds a header but no sound (0 samples)."
            return _short(length, size - start) if start + length > size else ""
        file.seek(start + length + length % 2)
        if start + length > size:
            break
    return "the file ends before its sound begins: it is cut short. Copy or export it again."


def _wav_format_fault(fields: tuple[int, ...]) -> str:
    kind, channels, rate, byte_rate, frame, bits = fields
    if kind in COMPRESSED:
        return ""  # the decoder names it
    if bits not in _BITS:
        return f"the header names {bits} bits a sample; 16, 24 or 32 are read. The header is damaged."
    if channels and frame != channels * bits // 8:
        return (
            f"the header contradicts itself ({channels} channels of {bits} bits need {channels * bits // 8} "
            f"bytes a frame, it says {frame}): what follows would be noise."
        )
    if rate and byte_rate not in (0, rate * frame):
        return f"the header contradicts itself (byte rate {byte_rate} for {rate} frames of {frame} bytes)."
    return ""


def _aiff_fault(file: BinaryIO, size: int) -> str:
    while len(head := file.read(8)) == 8:
        name, length = head[:4], struct.unpack(">I", head[4:])[0]
        start = file.tell()
        if name == b"SSND":
            if length <= 8:
                return "the file holds a header but no sound (0 samples)."
            return _short(length, size - start) if start + length > size else ""
        file.seek(start + length + length % 2)
    return "the file ends before its sound begins: it is cut short. Copy or export it again."
