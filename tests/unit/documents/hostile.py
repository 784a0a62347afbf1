"""Texts that a maker, or a file from elsewhere, could give a machine as its name."""

from __future__ import annotations

__all__ = ["HOSTILE"]

HOSTILE = {
    "script": "</script><script>alert(1)</script>",
    "image": "<img src=x onerror=alert(1)>",
    "style": "</style><style>*{display:none}</style>",
    "ends": "</title></pre></section></main><h1>other</h1><!--",
    "quotes": '"onfocus="alert(1)" \' & &lt; &amp;',
    "controls": "a\x00b\x07c\x1b[31md\x7fe\x85f",
    "turned": "mill \N{RIGHT-TO-LEFT OVERRIDE}lliw siht\N{POP DIRECTIONAL FORMATTING} end",
    "half": "a\ud800b",
    "long": "\N{CJK UNIFIED IDEOGRAPH-4E2D}" * 40 + "W" * 40,
    "hebrew": "\N{HEBREW LETTER ALEF}\N{HEBREW LETTER BET} 12 <b>",
}
