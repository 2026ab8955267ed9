"""What a paper says of itself in XMP (ISO 16684-1), which whoever keeps papers reads before their pages.

The same as the properties of the file: title, author, subject, keywords, language, program and day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final
from xml.sax.saxutils import escape

__all__ = ["About", "packet"]

_BEGIN: Final = '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>'
"""The fixed words that a reader looks for (ISO 16684-1, 7.3.2)."""


@dataclass(frozen=True, slots=True)
class About:
    """What is said of a paper."""

    title: str
    author: str
    subject: str
    keywords: Sequence[str]
    creator: str
    producer: str
    language: str
    day: date


def packet(about: About) -> bytes:
    """The packet in UTF-8. What XML cannot hold no font here prints either, and was refused before."""
    day = f"{about.day.isoformat()}T00:00:00Z"
    keywords = "".join(f"<rdf:li>{escape(word)}</rdf:li>" for word in about.keywords)
    return f"""{_BEGIN}
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
 xmlns:xmp="http://ns.adobe.com/xap/1.0/">
<dc:format>application/pdf</dc:format>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{escape(about.title)}</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>{escape(about.author)}</rdf:li></rdf:Seq></dc:creator>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{escape(about.subject)}</rdf:li></rdf:Alt></dc:description>
<dc:subject><rdf:Bag>{keywords}</rdf:Bag></dc:subject>
<dc:language><rdf:Bag><rdf:li>{escape(about.language)}</rdf:li></rdf:Bag></dc:language>
<pdf:Producer>{escape(about.producer)}</pdf:Producer>
<xmp:CreatorTool>{escape(about.creator)}</xmp:CreatorTool>
<xmp:CreateDate>{day}</xmp:CreateDate>
<xmp:ModifyDate>{day}</xmp:ModifyDate>
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="r"?>""".encode()
