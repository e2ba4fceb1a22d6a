"""Clips made for the tests, byte by byte. They hold no film and no sound, only what a reader asks for; WAV by Python's own library."""

import io
import struct
import wave

PLACE = b"+37.8136+144.9631/"  # ISO 6709, as phones write it


def box(name: bytes, *content: bytes) -> bytes:
    """ISO/IEC 14496-12, 4.2."""
    body = b"".join(content)
    return struct.pack(">I4s", 8 + len(body), name) + body


def mp4(
    seconds: int = 12, *, brand: bytes = b"isom", kind: bytes = b"vide", notes: bytes = b"", extra: bytes = b"", form: bytes = b"avc1"
) -> bytes:
    """One track; `notes` stand in the moov box, `extra` behind everything."""
    head = box(b"mvhd", bytes(12), struct.pack(">II", 600, seconds * 600), bytes(80))
    media = box(b"mdhd", bytes(12), struct.pack(">II", 90_000, seconds * 90_000), bytes(4))
    said = box(b"hdlr", bytes(8), kind, bytes(12))
    table = box(b"stbl", box(b"stsd", struct.pack(">II", 0, 1), box(form, bytes(8))))
    track = box(b"trak", box(b"tkhd", bytes(84)), box(b"mdia", media, said, box(b"minf", table)))
    return box(b"ftyp", brand, bytes(4)) + box(b"moov", head, track, notes) + box(b"mdat", b"film") + extra


def told_place() -> bytes:
    """The place as older and as newer phones write it: ©xyz and loci in udta, a key in meta."""
    old = box(b"udta", box(b"\xa9xyz", struct.pack(">HH", len(PLACE), 0x15C7), PLACE), box(b"loci", bytes(6), PLACE))
    return old + box(b"meta", b"com.apple.quicktime.location.ISO6709", PLACE)


def element(name: int, content: bytes) -> bytes:
    """RFC 8794: identity, length in eight bytes, content."""
    return name.to_bytes((name.bit_length() + 7) // 8) + (1 << 56 | len(content)).to_bytes(8) + content


def webm(seconds: float | None = 9.5, *, kind: int = 1, doctype: bytes = b"webm", tags: bytes = b"") -> bytes:
    info = element(0x2AD7B1, (1_000_000).to_bytes(3))
    if seconds is not None:
        info += element(0x4489, struct.pack(">d", seconds * 1000))
    tracks = element(0x1654AE6B, element(0xAE, element(0x83, bytes([kind]))))
    inside = element(0x1549A966, info) + tracks + (element(0x1254C367, tags) if tags else b"") + element(0x1F43B675, b"cluster")
    return element(0x1A45DFA3, element(0x4282, doctype)) + element(0x18538067, inside)


def wav(seconds: int = 3, notes: bytes = b"") -> bytes:
    out = io.BytesIO()
    with wave.open(out, "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(1)
        sound.setframerate(8000)
        sound.writeframes(bytes([128]) * 8000 * seconds)
    data = out.getvalue()
    chunk = b"LIST" + struct.pack("<I", len(notes)) + notes if notes else b""
    return data[:4] + struct.pack("<I", len(data) - 8 + len(chunk)) + data[8:] + chunk


def mp3(frames: int = 100, *, before: bytes = b"", behind: bytes = b"") -> bytes:
    """Frames of layer III, version 1, 128 kbit/s, 44,100 Hz: 417 bytes each, 1,152 samples (ISO/IEC 11172-3, 2.4.3.1)."""
    return before + (b"\xff\xfb\x90\x00" + bytes(413)) * frames + behind


def page(granule: int, body: bytes, flags: int = 0) -> bytes:
    """RFC 3533, 6; the checksum is left out."""
    sizes = bytes([255] * (len(body) // 255) + [len(body) % 255])
    return b"OggS\0" + bytes([flags]) + struct.pack("<qIII", granule, 1, 0, 0) + bytes([len(sizes)]) + sizes + body


def opus(seconds: int = 5, comment: bytes = b"ENCODER=none") -> bytes:
    """RFC 7845, 5: samples at 48,000 Hz, 312 of them skipped at the start."""
    head = b"OpusHead" + struct.pack("<BBHIhB", 1, 1, 312, 48_000, 0, 0)
    return page(0, head, 2) + page(0, b"OpusTags" + comment) + page(312 + 48_000 * seconds, b"sound", 4)


def vorbis(seconds: int = 5) -> bytes:
    """Vorbis I, 4.2.2."""
    head = b"\x01vorbis" + struct.pack("<IBI", 0, 1, 22_050) + bytes(14)
    return page(0, head, 2) + page(22_050 * seconds, b"sound", 4)
