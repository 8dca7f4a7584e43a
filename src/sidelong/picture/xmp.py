"""The XMP packet of a predicted picture, by the standard library alone.

Source: iso16684 (packet and model), dublincore2012 (title, description), iptc2024 (where a picture comes from)
"""

from __future__ import annotations

from collections.abc import Mapping
from xml.etree import ElementTree

_X = "adobe:ns:meta/"
_RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_DC = "http://purl.org/dc/elements/1.1/"
_XMP = "http://ns.adobe.com/xap/1.0/"
_IPTC = "http://iptc.org/std/Iptc4xmpExt/2008-02-29/"
OWN = "urn:x-sidelong:picture:1/"
"""Our namespace: a sequence `settings` of pairs `name`, `value`, and `predicted`."""
MADE_BY_COMPUTATION = "http://cv.iptc.org/newscodes/digitalsourcetype/algorithmicMedia"

_PREFIXES = {"x": _X, "rdf": _RDF, "dc": _DC, "xmp": _XMP, "Iptc4xmpExt": _IPTC, "sidelong": OWN}
_LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"


def xmp_packet(title: str, words: str, settings: Mapping[str, str]) -> str:
    """The packet: `title`, `words` saying what the picture is, and the settings as name and value pairs."""
    for prefix, uri in _PREFIXES.items():
        ElementTree.register_namespace(prefix, uri)
    meta = ElementTree.Element(f"{{{_X}}}xmpmeta")
    rdf = ElementTree.SubElement(meta, f"{{{_RDF}}}RDF")
    about = ElementTree.SubElement(rdf, f"{{{_RDF}}}Description", {f"{{{_RDF}}}about": ""})
    _in_default_language(about, "title", title)
    _in_default_language(about, "description", words)
    ElementTree.SubElement(about, f"{{{_XMP}}}CreatorTool").text = "Sidelong"
    ElementTree.SubElement(about, f"{{{_IPTC}}}DigitalSourceType").text = MADE_BY_COMPUTATION
    ElementTree.SubElement(about, f"{{{OWN}}}predicted").text = "True"
    listed = ElementTree.SubElement(ElementTree.SubElement(about, f"{{{OWN}}}settings"), f"{{{_RDF}}}Seq")
    for name, value in settings.items():
        pair = ElementTree.SubElement(listed, f"{{{_RDF}}}li", {f"{{{_RDF}}}parseType": "Resource"})
        ElementTree.SubElement(pair, f"{{{OWN}}}name").text = _legal(name)
        ElementTree.SubElement(pair, f"{{{OWN}}}value").text = _legal(value)
    body = ElementTree.tostring(meta, encoding="unicode")
    return f'<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n{body}\n<?xpacket end="w"?>'


def _in_default_language(about: ElementTree.Element, tag: str, text: str) -> None:
    choices = ElementTree.SubElement(ElementTree.SubElement(about, f"{{{_DC}}}{tag}"), f"{{{_RDF}}}Alt")
    ElementTree.SubElement(choices, f"{{{_RDF}}}li", {_LANGUAGE: "x-default"}).text = _legal(text)


def _legal(text: str) -> str:
    """Text without what XML 1.0 cannot hold."""
    return "".join(c if c in "\t\n" or (ord(c) >= 0x20 and not 0xD800 <= ord(c) <= 0xDFFF) else " " for c in text)
