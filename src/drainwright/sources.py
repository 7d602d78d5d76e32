"""The register of sources: every published rule or value the program uses, and its mark.

Marks: S read in the source, S2 read in a second-hand copy, M from memory (check your
specification), C computed from a stated formula, P common practice of the trade without
source, G plain geometry.
"""

from __future__ import annotations

from dataclasses import dataclass

MARKS = {
    "S": "read in the named source",
    "S2": "read in a second-hand copy of the named source",
    "M": "from memory, check your specification",
    "C": "computed from a stated formula",
    "P": "common practice of the trade, no source",
    "G": "plain geometry",
}


@dataclass(frozen=True, slots=True)
class Source:
    """A work cited by `key`; `mark` says how the program's authors know it."""

    key: str
    title: str
    mark: str


@dataclass(frozen=True, slots=True)
class Citation:
    """A place in a source: clause, table or page; the mark may differ from the source's."""

    key: str
    locator: str = ""
    mark: str = ""

    @property
    def source(self) -> Source:
        """The registered source."""
        return SOURCES[self.key]

    @property
    def effective_mark(self) -> str:
        """This citation's own mark, else the source's."""
        return self.mark or self.source.mark

    def __str__(self) -> str:
        where = f", {self.locator}" if self.locator else ""
        return f"{self.source.title}{where} [{self.effective_mark}]"


_REGISTER = (
    Source("practice", "Common practice of the trade, no source", "P"),
    Source("memory", "From memory, check your specification", "M"),
    Source("geometry", "Plain geometry", "G"),
    Source("owner", "The owner's specification", "S"),
    Source("maker", "The maker's letter or data sheet", "S"),
    Source("choice", "Chosen for this lateral; the reason is on record", "P"),
    Source("astm-f1216", "ASTM F1216, Appendix X1", "S2"),
    Source("astm-f2561", "ASTM F2561, sewer lateral and main connection lining", "S"),
    Source("astm-f1743", "ASTM F1743-22", "S"),
    Source("astm-d5813", "ASTM D5813", "M"),
    Source("iso-11296-4", "EN ISO 11296-4", "M"),
    Source(
        "najafi",
        "Najafi, Trenchless Technology Piping: Installation and Inspection, section 2.7",
        "S2",
    ),
    Source("doherty-2008", "Doherty, NASTT No-Dig 2008, abstract", "S"),
    Source("glock-1977", "Glock (1977), buckling of a close-fit ring", "M"),
    Source("chow-1959", "Chow, Open-Channel Hydraulics, 1959, Table 2-2", "S"),
    Source("manning", "Manning's formula for gravity flow", "S"),
    Source("en13508-2", "EN 13508-2, coding of sewer inspections", "S2"),
    Source("cleaning-tv", "A public cleaning and TV solicitation", "S"),
    Source("trade-press", "Trade press on lining and epoxy cure", "S2"),
    Source("inspector-training", "Inspector training slides on wet-out", "S2"),
    Source("farouki", "Farouki, Thermal properties of soils, CRREL 82-8", "S2"),
    Source("public-specs", "Public lateral lining specifications", "S"),
    Source("ramsey", "City of Ramsey MN, lateral lining provisions", "S"),
    Source("south-bend", "City of South Bend IN, lining specification", "S"),
    Source("nashua", "City of Nashua NH, lining specification", "S"),
    Source("pinellas", "Pinellas County FL, lateral lining provisions", "S"),
    Source("bellevue", "City of Bellevue WA, lining provisions", "S"),
    Source("silver-lake", "Silver Lake Water and Sewer District, 6.20.410", "S"),
    Source("sf-3301", "San Francisco 33 01 30.73, 33 01 30.74 and 33 33 00", "S"),
    Source("itasca", "Village of Itasca IL, sewer lining notice", "S"),
    Source("springfield", "City of Springfield MO, notice to residents", "S"),
    Source("hoboken", "City of Hoboken NJ, notice to residents", "S"),
    Source("nassco-styrene", "Published styrene safety guidance for steam cure", "S"),
    Source("osha-1926-aa", "29 CFR 1926 Subpart AA, confined spaces in construction", "S"),
    Source("berglind-2012", "Berglind et al., Contact Dermatitis 67:59, 2012", "S"),
    Source("epa-600-r12-004", "EPA/600/R-12/004", "S"),
    Source("iapws-if97", "IAPWS R7-97, industrial formulation 1997", "S"),
    Source("gas-dynamics", "Isentropic nozzle of an ideal gas, any textbook", "C"),
    Source("arrhenius", "Arrhenius's law, least squares of ln t over 1/T", "C"),
    Source("astm-e2070", "ASTM E2070, kinetic parameters by calorimetry", "M"),
    Source("friedman-1964", "Friedman, J. Polym. Sci. C 6:183, 1964", "M"),
    Source("kamal-1973", "Kamal and Sourour, Polym. Eng. Sci. 13:59, 1973", "M"),
    Source("lee-1982", "Lee, Loos and Springer, J. Compos. Mater. 16:510, 1982", "S2"),
    Source("dibenedetto-1987", "DiBenedetto, J. Polym. Sci. B 25:1949, 1987", "M"),
    Source("incropera", "Incropera et al., Fundamentals of Heat and Mass Transfer", "S2"),
    Source("carslaw-jaeger", "Carslaw and Jaeger, Conduction of Heat in Solids", "S2"),
    Source("cibse-a", "CIBSE Guide A, properties of materials", "S"),
    Source("farouki-1982", "Farouki, CRREL 82-8, thermal properties of soils", "S2"),
    Source("cortland-1978", "City of Cortland OH, code table of air tests, 1978", "S"),
    Source("astm-c828", "ASTM C828-06, air test of clay pipe", "S2"),
    Source("astm-f1417", "ASTM F1417, air test of plastic gravity sewers", "S2"),
    Source("en1610", "EN 1610, tests with air and water", "M"),
    Source("eldridge", "City of Eldridge IA, air test with groundwater", "S"),
    Source("astm-d790", "ASTM D790, flexural properties", "M"),
    Source("olympic-valley", "Olympic Valley PSD CA, lateral air test", "S"),
    Source("oakland", "Oakland CA 13.08.500, lateral water test", "S"),
    Source("grubbs", "Grubbs' test for one outlier (ASTM E178)", "M"),
    Source("ideal-gas", "Ideal gas in a constant volume", "C"),
    Source("iso-178", "ISO 178, flexural properties", "M"),
    Source("stevens-schutzbach", "Stevens and Schutzbach, base infiltration", "S2"),
    Source("unit-triangle", "Synthetic unit hydrograph of triangles (R, T, K)", "C"),
    Source("clausen-spooner", "Clausen and Spooner, EPA 841-F-93-009", "S"),
    Source("fieller", "Fieller, interval of a ratio", "M"),
    Source("eugene", "City of Eugene OR, definition of the R-value", "S"),
    Source("cure-model", "The program's own cure model, docs/theory/cure.md", "C"),
)

SOURCES: dict[str, Source] = {source.key: source for source in _REGISTER}


def cite(key: str, locator: str = "", mark: str = "") -> Citation:
    """A citation of a registered source; KeyError for an unknown key, at import time."""
    if key not in SOURCES:
        raise KeyError(f"no source registered as {key!r}")
    if mark and mark not in MARKS:
        raise KeyError(f"no mark {mark!r}")
    return Citation(key, locator, mark)
