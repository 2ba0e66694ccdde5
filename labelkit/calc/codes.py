"""Codes: the short id on a label that a person can also type.

A code has ten Crockford base-32 digits and a check character (ISO/IEC 7064, hybrid system, over the same 32
characters). The ten digits hold 50 bits: 24 bits of a keyed tag, and 26 bits that say which label of which job it is,
mixed with the tag so that the labels of one job do not look alike. Without the store's secret a code cannot be made
from another one; with any store the job and label it speaks of can be read.

Source: the digits leave out I, L, O and U as D. Crockford's published base-32 alphabet does.
"""

from __future__ import annotations

import hashlib
import hmac
import re
from typing import Final

from stdnum.iso7064 import mod_37_36

from labelkit.errors import LabelkitError, shortened
from labelkit.language import gettext as _

ALPHABET: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH: Final = 11
_BLOCK_BITS: Final = 16
_INDEX_BITS: Final = 10
TAG_BITS: Final = 24
BLOCKS: Final = 1 << _BLOCK_BITS
BLOCK_SIZE: Final = 1 << _INDEX_BITS

# What a sign-in label says: a name, a slash that some keyboards garble, and 24 characters of base 32.
_SIGN_IN: Final = re.compile(r".*[^0-9A-Za-z][A-Za-z2-7]{24}\s*", re.DOTALL)
_LOOKS_LIKE: Final = str.maketrans("OIL", "011")


class MistypedCode(LabelkitError):
    """Report a text that cannot be a code: wrong length, a letter that codes do not use, a failing check."""


def make_code(secret: bytes, serial: int) -> str:
    """Return the code of a label.

    Args:
        secret: the store's key.
        serial: number of the label in its store, 0 to 2**26 - 1: block x 1024 + index in the block.

    Raises:
        ValueError: there is no such serial.
    """
    if not 0 <= serial < BLOCKS * BLOCK_SIZE:
        raise ValueError(f"serial {serial} is outside 0 to {BLOCKS * BLOCK_SIZE - 1}")
    tag = _tag(secret, serial)
    value = tag << (_BLOCK_BITS + _INDEX_BITS) | (serial ^ _mask(tag))
    digits = "".join(ALPHABET[value >> shift & 31] for shift in range(45, -1, -5))
    return digits + mod_37_36.calc_check_digit(digits, ALPHABET)


def serial_of(code: str) -> int:
    """Return the serial a code speaks of; anybody can read it, only the store's key proves it."""
    value = 0
    for digit in code[: LENGTH - 1]:
        value = value << 5 | ALPHABET.index(digit)
    tag = value >> (_BLOCK_BITS + _INDEX_BITS)
    return (value & (1 << (_BLOCK_BITS + _INDEX_BITS)) - 1) ^ _mask(tag)


def is_genuine(secret: bytes, code: str) -> bool:
    """Say whether this code was made with this key."""
    return hmac.compare_digest(make_code(secret, serial_of(code)), code)


def is_sign_in(text: str) -> bool:
    """Say whether a text is that of a sign-in label, which counts like a PIN: it is never shown or repeated."""
    return _SIGN_IN.fullmatch(text) is not None


def read_code(typed: str) -> str:
    """Return the eleven characters of a code that was typed, scanned or is the end of a printed URL.

    Upper and lower case, hyphens and spaces, O for 0, I and L for 1 are accepted.

    Raises:
        MistypedCode: wrong length, a letter that codes do not use, or a failing check character.

    >>> read_code("7k3m-9q2x-f4h"), read_code("http://10.0.0.5:8080/7K3M9Q2XF4H")
    ('7K3M9Q2XF4H', '7K3M9Q2XF4H')
    """
    if is_sign_in(typed):
        raise MistypedCode(_("this is a sign-in label and no code of a card: scan it into the PIN field of the bench"))
    last = re.split(r"[/#]", typed.strip().rstrip("/"))[-1]
    code = re.sub(r"[\s\-\u2010-\u2015]", "", last).upper().translate(_LOOKS_LIKE)
    if bad := next((letter for letter in code if letter not in ALPHABET), None):
        words = _('"{typed}" is not a code: codes do not use "{bad}"; type what the label says')
        raise MistypedCode(words.format(typed=shortened(typed), bad=bad))
    if len(code) != LENGTH:
        words = _(
            '"{typed}" is not a code: it has {found} characters, a code has {length}; '
            "type all of it, as in 7K3M-9Q2X-F4H"
        )
        raise MistypedCode(words.format(typed=shortened(typed), found=len(code), length=LENGTH))
    if not mod_37_36.is_valid(code, ALPHABET):
        words = _('"{code}" is a mistyped code: its check character does not fit; compare it with the label again')
        raise MistypedCode(words.format(code=grouped(code)))
    return code


def grouped(code: str) -> str:
    """Return a code in groups of four, as labels print it."""
    return "-".join(code[start : start + 4] for start in range(0, len(code), 4))


def _tag(secret: bytes, serial: int) -> int:
    digest = hmac.new(secret, serial.to_bytes(4, "big"), hashlib.sha256).digest()
    return int.from_bytes(digest[: TAG_BITS // 8], "big")


def _mask(tag: int) -> int:
    digest = hashlib.sha256(tag.to_bytes(3, "big")).digest()
    return int.from_bytes(digest[:4], "big") >> (32 - _BLOCK_BITS - _INDEX_BITS)
