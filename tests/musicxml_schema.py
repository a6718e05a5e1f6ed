"""The published MusicXML 4.0 schema, ready to validate with, without any network.

The schema file is the one in the ``musicxml`` wheel; its two imports (XLink and xml:lang, xml:space) point at
web addresses and are replaced by stubs of the attributes that MusicXML uses.
"""

from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory

from lxml import etree

_XSD = "http://www.w3.org/2001/XMLSchema"
_STUBS = {
    "xlink.xsd": f"""<xs:schema xmlns:xs="{_XSD}" targetNamespace="http://www.w3.org/1999/xlink">
        <xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:NMTOKEN"/>
        <xs:attribute name="role" type="xs:token"/><xs:attribute name="title" type="xs:token"/>
        <xs:attribute name="show" type="xs:NMTOKEN"/><xs:attribute name="actuate" type="xs:NMTOKEN"/>
        </xs:schema>""",
    "xml.xsd": f"""<xs:schema xmlns:xs="{_XSD}" targetNamespace="http://www.w3.org/XML/1998/namespace">
        <xs:attribute name="lang" type="xs:language"/><xs:attribute name="space" type="xs:NCName"/>
        </xs:schema>""",
}


@lru_cache(maxsize=1)
def musicxml_schema() -> etree.XMLSchema:
    """The schema of MusicXML 4.0."""
    spec = find_spec("musicxml")
    assert spec is not None
    assert spec.submodule_search_locations
    path = Path(spec.submodule_search_locations[0]) / "generate_classes" / "musicxml_4_0.xsd"
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    document = etree.parse(path, parser)
    with TemporaryDirectory() as folder:
        for needed in document.getroot().findall(f"{{{_XSD}}}import"):
            name = needed.get("schemaLocation").rsplit("/", 1)[-1]
            stub = Path(folder) / name
            stub.write_text(_STUBS[name], encoding="utf-8")
            needed.set("schemaLocation", str(stub))
        return etree.XMLSchema(document)


def schema_faults(data: bytes) -> list[str]:
    """What the schema finds wrong in a document, nothing in a valid one."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    schema = musicxml_schema()
    schema.validate(etree.fromstring(data, parser))
    return [f"line {fault.line}: {fault.message}" for fault in schema.error_log]
