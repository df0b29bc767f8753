"""Calibration certificates for the tests in the elements of the open schema; laboratory and tools are invented."""

from __future__ import annotations

from collections.abc import Sequence

HEAD = (
    '<dcc:digitalCalibrationCertificate xmlns:dcc="https://ptb.de/dcc" xmlns:si="https://ptb.de/si" '
    'schemaVersion="{version}">'
)
CORE = (
    "<dcc:coreData><dcc:uniqueIdentifier>INV-0042</dcc:uniqueIdentifier>"
    "<dcc:beginPerformanceDate>2025-03-03</dcc:beginPerformanceDate>"
    "<dcc:endPerformanceDate>2025-03-04</dcc:endPerformanceDate></dcc:coreData>"
)
ITEM = (
    '<dcc:item><dcc:name><dcc:content lang="de">Drehmomentschlüssel</dcc:content>'
    '<dcc:content lang="en">Torque wrench</dcc:content></dcc:name>'
    "<dcc:manufacturer><dcc:name><dcc:content>Invented Tools</dcc:content></dcc:name></dcc:manufacturer>"
    "<dcc:model>IW 50</dcc:model><dcc:identifications>"
    "<dcc:identification><dcc:issuer>customer</dcc:issuer><dcc:value>shop 7</dcc:value></dcc:identification>"
    "<dcc:identification><dcc:issuer>manufacturer</dcc:issuer><dcc:value>SN 1234</dcc:value></dcc:identification>"
    "</dcc:identifications></dcc:item>"
)
LABORATORY = (
    "<dcc:calibrationLaboratory><dcc:contact><dcc:name><dcc:content>Invented Laboratory</dcc:content></dcc:name>"
    "</dcc:contact></dcc:calibrationLaboratory>"
)
NM = r"\newton\metre"


def numbers(role: str, values: Sequence[float], unit: str = NM, expanded: str = "") -> str:
    """A quantity of several numbers, with what was stated of their uncertainty."""
    listed = " ".join(f"{value:g}" for value in values)
    kind = f' refType="{role}"' if role else ""
    return (
        f"<dcc:quantity{kind}><si:realListXMLList><si:valueXMLList>{listed}</si:valueXMLList>"
        f"<si:unitXMLList>{unit}</si:unitXMLList>{expanded}</si:realListXMLList></dcc:quantity>"
    )


def number(role: str, value: float, unit: str = NM, expanded: str = "") -> str:
    """A quantity of one number."""
    return (
        f'<dcc:quantity refType="{role}"><si:real><si:value>{value:g}</si:value><si:unit>{unit}</si:unit>{expanded}'
        "</si:real></dcc:quantity>"
    )


def result(*quantities: str, kind: str = "gp_measuringResult1") -> str:
    """One result with its table."""
    return (
        f'<dcc:result refType="{kind}"><dcc:data><dcc:list refType="gp_table1">{"".join(quantities)}</dcc:list>'
        "</dcc:data></dcc:result>"
    )


def statement(kind: str, inner: str) -> str:
    """One statement of the administrative part."""
    return f'<dcc:statement refType="basic_{kind}">{inner}</dcc:statement>'


def certificate(
    *results: str, items: str = ITEM, core: str = CORE, statements: str = "", methods: str = "", version: str = "3.2.1"
) -> bytes:
    """A whole certificate of these results."""
    return (
        HEAD.format(version=version)
        + f"<dcc:administrativeData>{core}<dcc:items>{items}</dcc:items>{LABORATORY}"
        + f"<dcc:statements>{statements}</dcc:statements></dcc:administrativeData>"
        + f"<dcc:measurementResults><dcc:measurementResult><dcc:usedMethods>{methods}</dcc:usedMethods>"
        + f"<dcc:results>{''.join(results)}</dcc:results></dcc:measurementResult></dcc:measurementResults>"
        + "</dcc:digitalCalibrationCertificate>"
    ).encode()
