#!/usr/bin/env python3
"""Recomputes the history of a campaign file from the words of the package comment, with nothing of
the program: prints the head, or the first entry that does not hold.

    python3 chain.py v1.sqlite
"""
import hashlib
import sqlite3
import struct
import sys


def entry_hash(seq, at, kind, subject, payload, prev):
    b = b"hardcatch history 1\n" + struct.pack(">Q", seq)
    for field in (at, kind, subject, payload):
        text = field.encode()
        b += struct.pack(">Q", len(text)) + text
    return hashlib.sha256(b + prev).digest()


def main(path):
    db = sqlite3.connect(f"file:{path}?immutable=1", uri=True)
    prev, seq = bytes(32), 0
    rows = db.execute("SELECT seq, at, kind, subject, payload, prev_hash, hash FROM history ORDER BY seq")
    for seq, (number, at, kind, subject, payload, before, digest) in enumerate(rows, 1):
        if number != seq or before != prev or digest != entry_hash(seq, at, kind, subject, payload, prev):
            sys.exit(f"entry {number} does not hold")
        prev = digest
    print(seq, prev.hex())


main(sys.argv[1])
