"""Reading XML from anywhere: no entities, no document type, no outside reference, no more than a certificate holds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final
from xml.etree.ElementTree import Element, ParseError, TreeBuilder

from twoturn.fastener.certificate.model import CertificateError

DCC: Final = "{https://ptb.de/dcc}"
SI: Final = "{https://ptb.de/si}"
SIGNATURE: Final = "{http://www.w3.org/2000/09/xmldsig#}Signature"
MOST_BYTES: Final = 20_000_000
MOST_ELEMENTS: Final = 100_000
MOST_DEPTH: Final = 60
LONGEST: Final = 80
ASK: Final = "ask the laboratory for its digital calibration certificate (DCC) as an XML file"


class _Bounded(TreeBuilder):
    """Builds a tree, and refuses one of more elements or levels than any certificate has."""

    def __init__(self) -> None:
        super().__init__()
        self.count, self.depth = 0, 0

    def start(self, tag: str, attrs: dict[str, str], /) -> Element:
        self.count, self.depth = self.count + 1, self.depth + 1
        if self.count > MOST_ELEMENTS or self.depth > MOST_DEPTH:
            raise CertificateError("the file holds more elements than any calibration certificate", next_step=ASK)
        return super().start(tag, attrs)

    def end(self, tag: str, /) -> Element:
        self.depth -= 1
        return super().end(tag)


def read_xml(data: bytes, name: str) -> Element:
    """The root element of a file.

    Parameters
    ----------
    data
        The file's bytes.
    name
        Its name, for the error sentences.

    Returns
    -------
    xml.etree.ElementTree.Element
        The root.

    Raises
    ------
    CertificateError
        Empty, too large, no XML, cut off, or with a document type, entities or more elements than any certificate.
    """
    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser

    if not data.strip():
        raise CertificateError(f"{name} is empty", next_step=ASK)
    if len(data) > MOST_BYTES:
        raise CertificateError(f"{name} is {len(data) / 1e6:.0f} MB", allowed=f"up to {MOST_BYTES / 1e6:g} MB")
    parser: Any = DefusedXMLParser(target=_Bounded(), forbid_dtd=True, forbid_entities=True, forbid_external=True)
    try:
        parser.feed(data)
        root = parser.close()
    except CertificateError as error:
        raise CertificateError(f"{name}: {error.message}", next_step=error.next_step) from None
    except DefusedXmlException:
        raise CertificateError(
            f"{name} declares a document type or entities, which no calibration certificate needs; it was not read",
            next_step=ASK,
        ) from None
    except (ParseError, ValueError, LookupError, TypeError):
        raise CertificateError(f"{name} is no XML file, or it is cut off or damaged", next_step=ASK) from None
    if not isinstance(root, Element):
        raise CertificateError(f"{name} holds nothing", next_step=ASK)
    return root


def text_of(element: Element | None, path: str = "") -> str:
    """The text at a path, blanks made single and no longer than a name may be; empty where there is none."""
    found = element if element is None or not path else element.find(path)
    raw = "" if found is None else (found.text or "")
    clean = " ".join("".join(sign if sign.isprintable() else " " for sign in raw).split())
    return clean[:LONGEST]


def words_of(element: Element | None) -> str:
    """The text of an element in several languages: English where there is one, else the first."""
    if element is None:
        return ""
    contents = element.findall(f"{DCC}content")
    english = [content for content in contents if content.get("lang") == "en"]
    return next((text for content in [*english, *contents] if (text := text_of(content))), "")


def types_of(element: Element) -> set[str]:
    """The element's ``refType`` words in small letters, without the part that names the group (``basic_``)."""
    return {word.partition("_")[2].lower() or word.lower() for word in element.get("refType", "").split()}


def every(element: Element | None, tag: str) -> Iterator[Element]:
    """Every element of that tag below one."""
    return iter(()) if element is None else element.iter(tag)
