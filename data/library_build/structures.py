"""What a structure says: whether it belongs into the library, its hydrogen bonds and its classes."""

from dataclasses import dataclass

from rdkit import Chem, RDLogger, rdBase
from rdkit.Chem import Descriptors, rdMolDescriptors

RDLogger.DisableLog("rdApp.*")

# Refused: what must not be heated in a capillary. Classes: CRC Handbook of Chemistry and Physics section 16 table 1 and
# US National Research Council, Prudent Practices in the Laboratory (1995) table 3.11. The patterns are our own.
REFUSED = {
    "azide": ("[NX2]-[NX2+]#[NX1]", "[NX2]=[NX2+]=[NX1-]"),
    "diazo": ("[#6]=[NX2+]=[NX1-]", "[#6-]-[NX2+]#[NX1]"),
    "diazonium": ("[#6;!-]-[NX2+]#[NX1]",),
    "fulminate": ("[CX1-]#[NX2+]-[O]", "[Hg,Ag,Cu,Au]-[CX2]#[NX2+]-[O-]"),
    "acetylide": ("[CX1-]#[CX2]", "[CX2]#[CX2]-[Li,Na,K,Rb,Cs,Mg,Ca,Cu,Ag,Au,Zn,Hg]"),
    "haloacetylene": ("[CX2]#[CX2]-[F,Cl,Br,I]",),
    "polyacetylene": ("[CX2]#[CX2]-[CX2]#[CX2]",),
    "nitrate_ester": ("[#6]-[OX2]-[N+](=O)[O-]",),
    "nitrite_ester": ("[#6]-[OX2]-[NX2]=[OX1]",),
    "perchlorate": ("[Cl](=O)(=O)(=O)-[O]", "[Cl+3]([O-])([O-])([O-])[O]"),
    "chlorite": ("[O-]-[Cl]=O", "[O]-[Cl+]-[O-]"),
    "peroxide": ("[OX2,OX1-]-[OX2,OX1-]",),
    "picrate": ("[OX2,OX1-]-c1c([N+](=O)[O-])cc([N+](=O)[O-])cc1[N+](=O)[O-]",),
    "n_halogen": ("[#7]-[F,Cl,Br,I]",),
    "nitroso": ("[#7]-[NX2]=[OX1]",),
}
# Not in those tables as we read them, refused as well: common practice, no source.
REFUSED_BEYOND = {
    "nitramine": ("[#7;!$([N+](=O)[O-])]-[N+](=O)[O-]",),
    "polynitroalkyl": ("[CX4]([N+](=O)[O-])[N+](=O)[O-]",),
}
INFORMATIVE = {
    "carboxylic_acid": ("[CX3](=O)[OX2H1]",),
    "amide": ("[NX3]-[CX3]=[OX1]",),
    "phenol": ("[OX2H]-c",),
    "alcohol": ("[OX2H]-[CX4]",),
    "amine": ("[NX3;+0;!$(N~[!#6;!#1]);!$(N-[#6]=[O,S,N]);!$(N-C#N)]",),
    "nitro": ("[#6]-[N+](=O)[O-]",),
    "ester": ("[#6,#1][CX3](=O)-[OX2]-[#6;!$(C=O)]",),
    "ketone": ("[#6][CX3](=O)[#6]",),
    "aldehyde": ("[CX3H1](=O)[#6]",),
    "halide": ("[#6]-[F,Cl,Br,I]",),
}
NITRO_ON_RING = Chem.MolFromSmarts("a-[N+](=O)[O-]")
POLYNITRO_FROM = 3
# A ring of up to six atoms with four nitrogens is tetrazole-like; in larger rings four nitrogens are common and tame.
N_RICH_RING_NITROGENS, N_RICH_RING_SIZE = 4, 6
NON_METALS = frozenset((1, 2, 6, 7, 8, 9, 10, 15, 16, 17, 18, 34, 35, 36, 53, 54, 86))
# Alphabetical within each group: the order in which classes are written.
REFUSED_NAMES = tuple(sorted([*REFUSED, *REFUSED_BEYOND, "polynitroaromatic", "tetrazole"]))
INFORMATIVE_NAMES = tuple(sorted([*INFORMATIVE, "hydrocarbon", "metal", "polymer", "salt"]))

PATTERNS = {
    name: tuple(Chem.MolFromSmarts(smarts) for smarts in patterns)
    for group in (REFUSED, REFUSED_BEYOND, INFORMATIVE)
    for name, patterns in group.items()
}
INORGANIC_CARBON = {
    "carbonate or carbonic acid": "[CX3](=[O,S])(-[OX2H,OX1-,SX2H,SX1-])-[OX2H,OX1-,SX2H,SX1-]",
    "cyanide, cyanate or cyanogen halide": "[CX2](#[NX1])-[!#6;!$([NX3])]",
    "hydrogen cyanide or cyanide ion": "[CH1X2,CX1-]#[NX1]",
    "cyanogen": "[CX2](#[NX1])-[CX2](#[NX1])",
    "isocyanic acid": "[CX2](=[O,S])=[NH,N-]",
    "carbon monoxide or metal carbonyl": "[#6;X1,X2]#[O+]",
    "carbon dioxide or disulfide": "[CX2](=[O,S])=[O,S]",
    "carbonyl halide": "[CX3](=[O,S])(-[F,Cl,Br,I])-[F,Cl,Br,I]",
    "carbide or bare carbon": "[#6;X0]",
}
INORGANIC_PATTERNS = [Chem.MolFromSmarts(smarts) for smarts in INORGANIC_CARBON.values()]


@dataclass(frozen=True)
class Structure:
    """What the library says of a structure."""

    smiles: str
    formula: str
    molar_mass_g_per_mol: float
    donors: int
    acceptors: int
    classes: tuple
    inchi_key: str


def toolkit():
    """Name and version of the toolkit that reads the structures."""
    return f"RDKit {rdBase.rdkitVersion}"


def is_organic(molecule):
    """Whether at least one carbon is none of INORGANIC_CARBON: urea and CBr4 are organic, carbonic acid is not."""
    inorganic = set()
    for pattern in INORGANIC_PATTERNS:
        for match in molecule.GetSubstructMatches(pattern):
            inorganic.update(at for at in match if molecule.GetAtomWithIdx(at).GetAtomicNum() == 6)
    carbons = {atom.GetIdx() for atom in molecule.GetAtoms() if atom.GetAtomicNum() == 6}
    return bool(carbons - inorganic)


def why_not(smiles):
    """Why a SMILES is kept out of the library, or the molecule: one of (reason, None) and (None, molecule)."""
    if not smiles:
        return "no SMILES", None
    if "." in smiles:
        return "more than one component", None
    molecule = Chem.MolFromSmiles(smiles)
    if molecule is None:
        return "SMILES that RDKit cannot read", None
    if not is_organic(molecule):
        return "not organic", None
    if Chem.GetFormalCharge(molecule) != 0:
        return "an ion alone", None
    return None, molecule


def classes(molecule):
    """Names of the classes a molecule belongs to: refused ones first, each group in alphabetical order."""
    found = {name for name, patterns in PATTERNS.items() if any(molecule.HasSubstructMatch(one) for one in patterns)}
    numbers = [atom.GetAtomicNum() for atom in molecule.GetAtoms()]
    if len(molecule.GetSubstructMatches(NITRO_ON_RING)) >= POLYNITRO_FROM:
        found.add("polynitroaromatic")
    for ring in molecule.GetRingInfo().AtomRings():
        nitrogens = sum(numbers[at] == 7 for at in ring)
        if len(ring) <= N_RICH_RING_SIZE and nitrogens >= N_RICH_RING_NITROGENS:
            found.add("tetrazole")
    if set(numbers) <= {1, 6}:
        found.add("hydrocarbon")
    if 0 in numbers:
        found.add("polymer")
    if any(number not in NON_METALS and number != 0 for number in numbers):
        found.add("metal")
    if is_inner_salt(molecule):
        found.add("salt")
    return tuple(name for name in (*REFUSED_NAMES, *INFORMATIVE_NAMES) if name in found)


def is_inner_salt(molecule):
    """Whether charges stand on atoms that are not neighbours, as in betaine; nitro groups and N-oxides do not count."""
    for atom in molecule.GetAtoms():
        if atom.GetFormalCharge() > 0 and not any(other.GetFormalCharge() < 0 for other in atom.GetNeighbors()):
            return not any(
                far.GetFormalCharge() < 0 for near in atom.GetNeighbors() for far in near.GetNeighbors()
            )
    return False


def describe(smiles, molecule):
    """The Structure of a molecule read from `smiles`; molar mass to 0.001 g/mol."""
    return Structure(
        smiles=smiles,
        formula=rdMolDescriptors.CalcMolFormula(molecule, separateIsotopes=True, abbreviateHIsotopes=True),
        molar_mass_g_per_mol=round(Descriptors.MolWt(molecule), 3),
        donors=rdMolDescriptors.CalcNumHBD(molecule),
        acceptors=rdMolDescriptors.CalcNumHBA(molecule),
        classes=classes(molecule),
        inchi_key=Chem.MolToInchiKey(molecule),
    )
