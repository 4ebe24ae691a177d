"""Checks of the build script on small made-up tables: `python data/build_library.py --self-check`.

Structures and their classes are textbook facts; melting values here are invented, to show a screen.
"""

import sys
import tempfile
import traceback
from pathlib import Path

from . import names, open_notebook, screens, sources, structures

NOTEBOOK_CSV = """key,name,smiles,mpC,csid,link,source,donotuse,donotusebecause
1,benzoic acid,OC(=O)c1ccccc1,122.4,238,,Catalogue A,,
2,benzoic acid,O=C(O)c1ccccc1,121,238,,Old Book,,
3,benzoic acid,c1ccccc1C(O)=O,22,238,,Old Book,x,digit lost
4,imaginary ether,COc1ccc(OCCCBr)cc1,61.5,999,,Catalogue A,,
5,a salt,[Na+].CC([O-])=O,324,1,,Catalogue A,,
6,no number,CCO,n/a,2,,Catalogue A,,
7,cold ether,CCOCC,-116,3,,Catalogue A,,
"""


def classes_of(smiles):
    """Classes of a structure that must be readable."""
    reason, molecule = structures.why_not(smiles)
    assert reason is None, (smiles, reason)
    return set(structures.classes(molecule))


def check_cas():
    assert sources.cas_text("50000") == sources.cas_text("50-00-0") == "50-00-0"
    assert sources.cas_text("65850") == "65-85-0"
    assert sources.cas_text("65851") is None, "a wrong check digit must not pass"
    assert sources.celsius_from_kelvin("418.70556") == 145.56
    assert sources.celsius_from_kelvin("273.15") == 0.0


def marks(*pairs, boiling_c=None):
    """Values after the screens, as text."""
    values = [screens.Value(number, source) for number, source in pairs]
    screens.screen(values, boiling_c)
    return [value.text() for value in values]


def check_screens():
    assert marks((80.26, "on"), (80, "wd")) == ["80.26@on", "80@wd"]
    assert marks((130.5, "on"), (41.8, "wd")) == ["130.5@on!disagrees", "41.8@wd!disagrees"]
    assert marks((100, "on"), (115, "wd")) == ["100@on", "115@wd"], "15 °C apart is not more than 15"
    # 121 °C taken for °F: 49.44 °C; 250 °F written as °C: 250 against 121.11; kelvins written as °C.
    assert marks((121, "on"), (49.44, "wd")) == ["121@on", "49.44@wd!unit"]
    assert marks((395.15, "on"), (122, "wd")) == ["395.15@on!unit", "122@wd"]
    assert marks((249.8, "on"), (121, "wd")) == ["249.8@on!unit", "121@wd"]
    assert marks((250, "on"), (121, "wd")) == ["250@on!disagrees", "121@wd!disagrees"], "both even: not to be told"
    assert marks((181.9, "on"), boiling_c=181.9) == ["181.9@on!boiling"]
    assert marks((-201, "on"), (601, "wd")) == ["-201@on!range", "601@wd!range"]
    three = marks((80, "on:a"), (81, "on:b"), (150, "wd"))
    assert three == ["80@on:a", "81@on:b", "150@wd!disagrees"]


def check_classes():
    expected = {
        "Cc1c([N+](=O)[O-])cc([N+](=O)[O-])cc1[N+](=O)[O-]": {"polynitroaromatic"},
        "Oc1c([N+](=O)[O-])cc([N+](=O)[O-])cc1[N+](=O)[O-]": {"picrate", "polynitroaromatic"},
        "O=C(OOC(=O)c1ccccc1)c1ccccc1": {"peroxide"},
        "O=C1CCC(=O)N1Br": {"n_halogen"},
        "c1ccc(cc1)-c1nnn[nH]1": {"tetrazole"},
        "[N-]=[N+]=NC(=O)c1ccccc1": {"azide"},
        "CCOC(=O)C=[N+]=[N-]": {"diazo"},
        "C[O][N+](=O)[O-]": {"nitrate_ester"},
        "CC(C)CCON=O": {"nitrite_ester"},
        "O=NN(c1ccccc1)c1ccccc1": {"nitroso"},
        "C#CC#C": {"polyacetylene"},
        "BrC#Cc1ccccc1": {"haloacetylene"},
        "COCl(=O)(=O)=O": {"perchlorate"},
        "C1N(CN(CN1[N+](=O)[O-])[N+](=O)[O-])[N+](=O)[O-]": {"nitramine"},
        # Close to a refused class and none: two nitro groups, an azo dye, hexamine, an ether, a triazole, an alkyne.
        "O=[N+]([O-])c1cccc(c1)[N+](=O)[O-]": set(),
        "c1ccc(cc1)N=Nc1ccccc1": set(),
        "C1N2CN3CN1CN(C2)C3": set(),
        "CCOCC": set(),
        "c1ccc2[nH]nnc2c1": set(),
        "C(#Cc1ccccc1)c1ccccc1": set(),
        "O=[N+]([O-])c1ccccc1": set(),
        "C[n+]1ccccc1[O-]": set(),
    }
    refused = set(structures.REFUSED_NAMES)
    for smiles, wanted in expected.items():
        found = classes_of(smiles) & refused
        assert found == wanted, (smiles, found, wanted)
    informative = {
        "OC(=O)c1ccccc1": {"carboxylic_acid"},
        "CC(=O)Nc1ccccc1": {"amide"},
        "NC(N)=O": {"amide"},
        "COc1cc(C=O)ccc1O": {"aldehyde", "phenol"},
        "O=C(c1ccccc1)c1ccccc1": {"ketone"},
        "COC(=O)c1ccc(cc1)C(=O)OC": {"ester"},
        "c1ccc2ccccc2c1": {"hydrocarbon"},
        "Clc1ccc(Cl)cc1": {"halide"},
        "Nc1ccccc1": {"amine"},
        "OC(c1ccccc1)(c1ccccc1)c1ccccc1": {"alcohol"},
        "O=C1OC(=O)c2ccccc12": set(),
        "C[N+](C)(C)CC([O-])=O": {"salt"},
        "OB(O)c1ccccc1": {"metal"},
    }
    for smiles, wanted in informative.items():
        assert classes_of(smiles) == wanted, (smiles, classes_of(smiles), wanted)


def check_organic():
    for smiles in ("NC(N)=O", "NC(N)=S", "BrC(Br)(Br)Br", "NC(=N)NC#N", "NC(N)=N", "COC(=O)OC", "OC(=O)C(O)=O"):
        assert structures.why_not(smiles)[0] is None, smiles
    for smiles in ("OC(O)=O", "C#N", "O=C=O", "S=C=S", "[C-]#[O+]", "N#CBr", "O", "ClC(Cl)=O"):
        assert structures.why_not(smiles)[0] == "not organic", smiles
    assert structures.why_not("[Na+].CC([O-])=O")[0] == "more than one component"
    assert structures.why_not("C[N+](C)(C)C")[0] == "an ion alone"
    assert structures.why_not("C1CC")[0] == "SMILES that RDKit cannot read"


def check_hydrogen_bonds():
    for smiles, donors, acceptors in (("OC(=O)c1ccccc1O", 2, 2), ("CC(=O)Nc1ccccc1", 1, 1), ("c1ccc2ccccc2c1", 0, 0)):
        structure = structures.describe(smiles, structures.why_not(smiles)[1])
        assert (structure.donors, structure.acceptors) == (donors, acceptors), (smiles, structure)


def check_names():
    for junk in ("stk366316", "65-85-0", "nsc 149", "unii-8skn0b0mim", "wpymklbdigxbtp-uhfffaoysa-n", "mfcd00002398",
                 "akos000118808", "benzoic acid [usp:jan]", "2-naphthol, 99%", "ac1l1qwi", "st024716"):
        assert not names.usable(names.clean(junk)), junk
    for good in ("urea", "benzil", "2-naphthol", "n-phenylacetamide", "1,3,7-trimethylxanthine", "9h-fluorene", "vitamin c"):
        assert names.usable(good), good
    assert names.restore_case("n-phenylacetamide", True) == "N-phenylacetamide"
    assert names.restore_case("n,n-dimethylaniline", True) == "N,N-dimethylaniline"
    assert names.restore_case("n-butylamine", True) == "n-butylamine"
    assert names.restore_case("n-hexadecanoic acid", False) == "n-hexadecanoic acid"
    assert names.restore_case("9h-fluorene", False) == "9H-fluorene"
    assert names.restore_case("(2r,3s)-l-threonine", True) == "(2R,3S)-L-threonine"
    listed = sources.Identifier("135-19-3", "", "naphthalen-2-ol", (
        "ac1l1b2c", "135-19-3", "2-naphthalenol, 99%", "2-naphthol", "naphthalene, 2-hydroxy-", "beta-naphthol"))
    name, synonyms = names.choose(listed, None, False, False)
    assert name == "2-naphthol" and synonyms[:2] == ("beta-naphthol", "naphthalen-2-ol"), (name, synonyms)
    assert names.choose(listed, "naphth", False, False)[0] == "naphth"


def check_notebook():
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "table.csv"
        path.write_text(NOTEBOOK_CSV, encoding="utf-8")
        rows, no_number = sources.open_notebook_rows(path)
        assert (len(rows), no_number) == (6, 1)
        check_merge(path)
        try:
            import pandas
        except ImportError:
            print("note: pandas is not installed, .xlsx was not checked")
            return
        sheet = Path(folder) / "table.xlsx"
        pandas.read_csv(path, dtype=str, keep_default_na=False).to_excel(sheet, index=False)
        assert sources.open_notebook_rows(sheet) == (rows, no_number), ".xlsx must read like .csv"
        bare = Path(folder) / "bare.csv"
        bare.write_text("key,name\n1,a\n", encoding="utf-8")
        try:
            sources.open_notebook_rows(bare)
        except sources.SourceError as error:
            assert "no column" in str(error)
        else:
            raise AssertionError("a table without its columns must be refused")


def check_merge(path):
    """The join, through the same code as the build."""
    from build_library import Steps, Substance, merge, may_melt_here

    smiles = "C1=CC=C(C=C1)C(=O)O"
    structure = structures.describe(smiles, structures.why_not(smiles)[1])
    known = Substance("65-85-0", "benzoic acid", (), structure, [screens.Value(122.4, "on"), screens.Value(122.34, "wd")])
    steps = Steps()
    new = merge([known], path, steps)
    screens.screen(known.values, None)
    assert [value.text() for value in known.values] == [
        "122.4@on!median", "122.34@wd", "122.4@on:catalogue-a", "22@on:old-book!donotuse", "121@on:old-book",
    ], known.values
    assert [one.cas for one in new] == ["csid:3", "csid:999"], new
    ether = new[1]
    assert (ether.name, ether.values[0].text()) == ("imaginary ether", "61.5@on:catalogue-a")
    assert may_melt_here(ether.values) and not may_melt_here(new[0].values)
    assert steps.counts["rows of the full table left out: more than one component"] == 1
    assert open_notebook.source_code("  ") == "on:unnamed"


CHECKS = (
    check_cas, check_screens, check_classes, check_organic, check_hydrogen_bonds, check_names, check_notebook,
)


def run():
    """Runs all checks; returns the exit status."""
    failed = 0
    for check in CHECKS:
        try:
            check()
        except Exception:
            failed += 1
            print(f"{check.__name__} failed:", file=sys.stderr)
            traceback.print_exc()
    print(f"{len(CHECKS) - failed} of {len(CHECKS)} checks passed")
    return 1 if failed else 0
