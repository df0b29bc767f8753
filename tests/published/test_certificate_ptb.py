"""The "good practice" example of a digital calibration certificate, and what it prints.

Source, read: GP_DCC_temperature_typical_1.2, schema 3.1.1, of the Physikalisch-Technische Bundesanstalt ("not a real
calibration certificate"), as kept in the public repository siemens/pydcc (data/dcc). Its elements, words and numbers
are set up here again in its order. It is a temperature sensor's: its numbers are asserted in its own units, and the
whole is refused as no torque tool's; with the same numbers in newton metres it is read as one. Decimals as printed, no
tolerance.
"""

from __future__ import annotations

from datetime import date

import pytest
from defusedxml.ElementTree import fromstring

from twoturn.fastener.certificate.model import CertificateError
from twoturn.fastener.certificate.read import read_certificate
from twoturn.fastener.certificate.values import numbers_of

REFERENCE = (306.248, 373.121, 448.253, 523.319, 593.154)
SHOWN = (306.32, 373.21, 448.36, 523.31, 593.07)
ERROR = (0.072, 0.089, 0.107, -0.009, -0.084)
EXPANDED, FACTOR = 0.061, 2.0
SPACES = 'xmlns:dcc="https://ptb.de/dcc" xmlns:si="https://ptb.de/si"'
SPREAD = (
    "<si:expandedUncXMLList><si:uncertaintyXMLList>0.061</si:uncertaintyXMLList>"
    "<si:coverageFactorXMLList>2</si:coverageFactorXMLList>"
    "<si:coverageProbabilityXMLList>0.95</si:coverageProbabilityXMLList></si:expandedUncXMLList>"
)


def _list(values: tuple[float, ...], unit: str, spread: str = "") -> str:
    told = " ".join(map(str, values))
    return (
        f"<si:realListXMLList><si:valueXMLList>{told}</si:valueXMLList><si:unitXMLList>{unit}</si:unitXMLList>{spread}"
        "</si:realListXMLList>"
    )


def _celsius(kelvin: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(round(value - 273.15, 3) for value in kelvin)


def _quantities(unit: str) -> str:
    def both(values: tuple[float, ...]) -> str:
        return f"<si:hybrid>{_list(values, unit)}{_list(_celsius(values), chr(92) + 'degreecelsius')}</si:hybrid>"

    return (
        f'<dcc:quantity refType="basic_referenceValue">{both(REFERENCE)}</dcc:quantity>'
        f'<dcc:quantity refType="basic_measuredValue">{both(SHOWN)}</dcc:quantity>'
        f'<dcc:quantity refType="basic_measurementError">{_list(ERROR, unit, SPREAD)}</dcc:quantity>'
    )


def _end(end: str, value: int, unit: str) -> str:
    return (
        f'<dcc:quantity refType="basic_validityRange{end}"><si:real><si:value>{value}</si:value>'
        f"<si:unit>{unit}</si:unit></si:real></dcc:quantity>"
    )


def _example(unit: str) -> bytes:
    names = (
        '<dcc:content lang="de">Temperatur-Fühler</dcc:content><dcc:content lang="en">Temperature sensor</dcc:content>'
    )
    numbers = "".join(
        f"<dcc:identification><dcc:issuer>{who}</dcc:issuer><dcc:value>string-{who}-item</dcc:value><dcc:name>"
        f'<dcc:content lang="de">{german} Nr.</dcc:content><dcc:content lang="en">{english} no.</dcc:content>'
        "</dcc:name></dcc:identification>"
        for who, german, english in (
            ("manufacturer", "Serien", "Serial"),
            ("customer", "Messmittel", "Measurement equipment"),
            ("calibrationLaboratory", "Equipment", "Equipment"),
        )
    )
    return f"""<dcc:digitalCalibrationCertificate {SPACES} schemaVersion="3.1.1"><dcc:administrativeData>
      <dcc:coreData><dcc:uniqueIdentifier>GP_DCC_temperature_typical_1.2</dcc:uniqueIdentifier>
        <dcc:beginPerformanceDate>1957-08-13</dcc:beginPerformanceDate>
        <dcc:endPerformanceDate>1957-08-13</dcc:endPerformanceDate></dcc:coreData>
      <dcc:items><dcc:item><dcc:name>{names}</dcc:name><dcc:model>String</dcc:model>
        <dcc:identifications>{numbers}</dcc:identifications></dcc:item></dcc:items>
      <dcc:calibrationLaboratory><dcc:contact><dcc:name><dcc:content>Kalibrierfirma GmbH</dcc:content></dcc:name>
      </dcc:contact></dcc:calibrationLaboratory>
      <dcc:statements><dcc:statement refType="basic_validityRange"><dcc:data>
          {_end("Min", 306, unit)}{_end("Max", 593, unit)}</dcc:data></dcc:statement>
        <dcc:statement refType="basic_conformity"><dcc:conformity>pass</dcc:conformity></dcc:statement>
        <dcc:statement refType="basic_recalibration"><dcc:date>1959-10-22</dcc:date></dcc:statement></dcc:statements>
    </dcc:administrativeData><dcc:measurementResults><dcc:measurementResult><dcc:usedMethods>
      <dcc:usedMethod refType="basic_uncertainty"><dcc:norm>GUM</dcc:norm></dcc:usedMethod>
      <dcc:usedMethod refType="gp_temperatureSensor"><dcc:norm>DKD-R 5-1:2018</dcc:norm></dcc:usedMethod>
      </dcc:usedMethods>
      <dcc:results><dcc:result refType="gp_measuringResult1"><dcc:data><dcc:list refType="gp_table1">
        {_quantities(unit)}</dcc:list></dcc:data></dcc:result></dcc:results></dcc:measurementResult>
    </dcc:measurementResults></dcc:digitalCalibrationCertificate>""".encode()


def test_every_printed_number_with_unit_uncertainty_and_factor() -> None:
    reference, shown, error = fromstring(f"<dcc:list {SPACES}>{_quantities(chr(92) + 'kelvin')}</dcc:list>")
    assert [number.value for number in numbers_of(reference)] == list(REFERENCE)
    assert [number.value for number in numbers_of(shown)] == list(SHOWN)
    assert [number.value for number in numbers_of(error)] == list(ERROR)
    assert {(number.unit, number.expanded, number.coverage) for number in numbers_of(error)} == {
        ("\\kelvin", EXPANDED, FACTOR)
    }


def test_the_example_is_no_torque_tools() -> None:
    with pytest.raises(CertificateError, match="the certificate of: Temperature sensor; it holds no torque"):
        read_certificate(_example("\\kelvin"), "example.xml")


def test_the_same_in_newton_metres_is_read_whole() -> None:
    found = read_certificate(_example("\\newton\\metre"), "example.xml")
    assert found.number == "GP_DCC_temperature_typical_1.2"
    assert (found.laboratory, found.serial, found.model) == (
        "Kalibrierfirma GmbH",
        "string-manufacturer-item",
        "String",
    )
    assert (found.calibrated, found.valid_until) == (date(1957, 8, 13), date(1959, 10, 22))
    assert (found.low_nm, found.high_nm, found.range_stated) == (306, 593, True)
    assert (found.conformity, found.norms) == ("pass", ("GUM", "DKD-R 5-1:2018"))
    for point, reference, shown, error in zip(found.points, REFERENCE, SHOWN, ERROR, strict=True):
        assert (point.set_nm, point.reference_nm, point.coverage) == (shown, reference, FACTOR)
        assert point.deviation == pytest.approx(error / reference, abs=1e-9)
        assert point.expanded == pytest.approx(EXPANDED / reference)
