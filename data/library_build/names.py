"""Chooses a usual name and useful synonyms from lists full of registry codes.

The PubChem lists are in lower case and in a rough order of use. A name is taken when a chemist could say it:
no registry code, no CAS number, no inverted index name, no remark in brackets.
"""

import re

MOST_SYNONYMS = 8
# Of these, places kept for names that say the structure.
SYSTEMATIC_PLACES = 3
# Index names and unusual ones are listed when there are fewer than so many others.
FEWEST_UPRIGHT = 2
LONGEST_NAME = 90
# How deep into a list a name may be looked for; further down come trade names and codes.
DEPTH = 25

CAS_LIKE = re.compile(r"(?<![\d,'-])\d{2,7}-\d\d-\d(?![\d,-])")
INCHI_KEY = re.compile(r"^[a-z]{14}-[a-z]{6,10}|^[a-z]{6,14}-[a-z]{6,10}-[a-z]?$")
# Prefixes of registries, catalogues and inventories.
REGISTRY = re.compile(
    r"^(unii|nsc|einecs|ec|chebi|chembl|schembl|zinc|akos|mfcd|dtxsid|dtxcid|hsdb|ccris|caswell|epa|ai3|brn|un|rcra|"
    r"ncgc|cid|sid|smr|mls|stk|sbb|tl8|fema|usaf|bdbm|bspbio|spbio|kbio\w*|kbiogr|nchembio|nci\w*|opera_id|tox\w*cast|"
    r"prestwick\w*|spectrum\w*|divk\w*|biomol\w*|lopac\w*|idi1|agn-pc|ac1\w*|bb|cbmicro|ghl|oprea\w*|maybridge\w*|"
    r"pubchem|wln|inchi|inchikey|smiles|cas|registry|bio-\w*|s\w{0,2}\d|hms\w*|ls|kst|cpd|cis|molport|ksc|ctk|anw|"
    r"as|ft|db|ar|bp|gp|sr|st|sy|tr|vz|w|t|b|c|d|e|f|a|i|j|k|m|n|o|p|q|r|u|x|z|hmdb|lmfa|lmst|bidd|bc|"
    r"component|fm|pdsp|rtr|rarechem|otava|ambz|fluka\w*|aldrich\w*|sigma\w*|supelco|bioxtra|reagentplus)"
    r"[-_: /.#]*(?:no\.? ?|number ?|code ?|id ?|of )?[\w.]*\d[\w./:-]*$"
)
# A short run of letters with a long run of digits and nothing else: st012345, 4h-123s, c1234, bas 00123.
CODE = re.compile(r"^(?=.*\d{3})[a-z]{0,8}[-_ .:/]?[a-z]{0,3}[-_ .:/]?\d[\w.:/-]*$")
REMARK = re.compile(
    r"\[[a-z ,:-]{3,}\]|\(\d+ci\)|\((van|acd|inn|usan|ban|jan|usp|nf|tn|mi|iupac|iso|the|or|hn)\b[^)]*\)|\[\d+[a-z]\d*\]|"
    r"[_%>=≥;$|@?~]|\b(grade|reagent|standard|solution|purum|puriss|synthesis|tested|certified|powder|crystalline|"
    r"technical|analytical|pharmaceutical|ampule|tablets?|mixture|component|derivative|homopolymer|polymer|labeled|"
    r"lot|usp|acs|fcc|hplc|gc|nmr|pestanal|vetranal|wln|epa|caswell|einecs|registry|spectrum|aldrich|sigma|fluka|"
    r"supelco|tincture|extract|compd|compound|carcinogen|feminine|degrees|agent|radical|isomers?|volatiles|base|spofa|"
    r"lundbeck|inchi\w*)\b"
)
# Salts, hydrates and dry forms of the substance: other substances under its number.
OTHER_FORM = re.compile(
    r"\b(hcl|\w*hydro(chloride|bromide|iodide)|\w*hydrate|\w*sulfate|sodium|potassium|calcium|magnesium|maleate|mesylate|"
    r"tartrate|citrate|phosphate|acetate salt|salt|chloride|bromide|anhydrous|free acid)$"
)
ION = re.compile(r"\S*[^n]ate")
# Name parts of one naming program, correct and said by nobody.
UNUSUAL = re.compile(
    r"oxidanyl|azanyl|sulfanyl|chloranyl|bromanyl|fluoranyl|iodanyl|azanidyl|oxidanidyl|phosphanylidene|boranyl"
)
FOREIGN = re.compile(
    r"kyselina|saeure|säure|\bacido\b|\bacide\b|acidum|\bzuur\b|kwas |\w+um$|zol$|\bde\b|chlorid$|bromid$|nitro\w*en\w*zen$|"
    r"trojchlor|aethyl|athyl|oxyd\b|benzen$|anilin$|phenon\b$|fenol|naftal|toluen$|\bdi-\w+ol$|amin$|amid$"
)
WORD = re.compile(r"[a-z]{4,}|dopa|ddt|tris|lsd")
# Parents whose D and L are configurations, written large; elsewhere d and l may mean the sense of rotation.
CONFIGURED = (
    r"(?:phenyl|homo|nor|iso|allo|beta-|alpha-|\(?[+-]\)?-?|threo-|erythro-)*"
    r"(?:alan|argin|asparag|aspart|cyste|cyst|glutam|histid|leuc|lys|methion|prol|ser|threon|tryptophan|tyros|val|ornith|"
    r"citrull|dopa|gluc|galact|mann|fruct|rib|xyl|arabin|fuc|rhamn|sorb|talos|altros|allos|lyx|eryth|threit|tartar|malic|"
    r"lactic|mandel|ascorb|panto)"
)
NORMAL = (
    r"(?:(?:prop|but|pent|am|hex|hept|oct|non|dec|undec|dodec|tetradec|hexadec|octadec)yl(?:amine| alcohol|\b)|"
    r"\w*an(?:e|oic|al|ol|amide|amine|onitrile)\b)"
)
DEXTRO_LAEVO = re.compile(rf"(?<![a-z])(dl|d|l)(?=(?:\([+-]\))?-{CONFIGURED})")


def clean(raw):
    """A raw name with spelled-out Greek letters and spaces put right."""
    name = re.sub(r"\.(alpha|beta|gamma|delta|epsilon|omega)\.", r"\1", raw.strip().lower())
    name = re.sub(r"\.(\+/-|\+-)\.", "(+/-)", name)
    return re.sub(r"\s+", " ", name).strip(" ,")


def key(name):
    """What two spellings of a name have in common: letters and digits in lower case."""
    return re.sub(r"[^a-z0-9+']", "", name.lower())


def balanced(name):
    """Whether every bracket of a name closes."""
    return all(name.count(one) == name.count(other) for one, other in ("()", "[]", "{}"))


def usable(name):
    """Whether a chemist could call a substance so."""
    return not (
        len(name) < 3
        or len(name) > LONGEST_NAME
        or not WORD.search(name)
        or not balanced(name)
        or CAS_LIKE.search(name)
        or INCHI_KEY.match(name)
        or REGISTRY.match(name)
        or CODE.match(name)
        or REMARK.search(name)
    )


def is_inverted(name):
    """Whether a name is an index name turned round: "benzene, 1-chloro-"."""
    return name.endswith("-") or bool(re.search(r"[a-z)\]'],\s*[^\s,']|[a-z]{3,},\d", name))


def restore_case(name, has_nitrogen):
    """Capital locants in a lower-case name: n-phenylacetamide, 9h-fluorene, (e)-stilbene, l-alanine.

    "n-" before a plain alkyl word stays small, since it may mean normal.
    """
    name = re.sub(r"(?<![a-z])(\d+[a-z]?)h(?=[-,)\]])", r"\1H", name)
    name = re.sub(
        r"\((?:\d+[a-z]?)?(?:rs|[ersz])(?:,(?:\d+[a-z]?)?(?:rs|[ersz]))*\)",
        lambda found: re.sub(r"(rs|[ersz])(?=[,)])", lambda one: one[0].upper(), found[0]),
        name,
    )
    name = DEXTRO_LAEVO.sub(lambda found: found[1].upper(), name)
    if has_nitrogen:
        name = re.sub(r"(?<![a-z0-9])n('*(?:,n'*)+)(?=-)", lambda found: "N" + found[1].upper(), name)
        name = re.sub(rf"(?<![a-z0-9])n-(?!{NORMAL})(?=[a-z(\[\d])", "N-", name)
    return name


def rank(name, place):
    """Order of preference of a usable name, smaller first: plain ones in the order of the list."""
    return (is_inverted(name), bool(UNUSUAL.search(name)), bool(FOREIGN.search(name)), place)


def candidates_of(identifier, is_acid):
    """Usable names in order of preference, without repeats. Salts, hydrates and ions count only as titles."""
    found, seen = [], set()
    raw = [*identifier.names, identifier.systematic]
    for place, one in enumerate(raw):
        name = clean(one)
        if not usable(name) or key(name) in seen:
            continue
        if place > 0 and (OTHER_FORM.search(name) or is_acid and ION.fullmatch(name)):
            continue
        seen.add(key(name))
        found.append((rank(name, DEPTH if place == len(raw) - 1 else place), name))
    return [name for _, name in sorted(found)]


def is_systematic(name):
    """Whether a name says the structure: a locant and no index order."""
    return bool(re.search(r"\d[a-z]?'?[-,)]", name)) and not is_inverted(name) and not UNUSUAL.search(name)


def chosen_synonyms(names_left):
    """Up to eight: the first in the list, with places kept for names that say the structure."""
    upright = [name for name in names_left if not is_inverted(name) and not UNUSUAL.search(name)]
    pool = upright if len(upright) >= FEWEST_UPRIGHT else names_left
    first = pool[: MOST_SYNONYMS - SYSTEMATIC_PLACES]
    structural = [name for name in pool if name not in first and is_systematic(name)][:SYSTEMATIC_PLACES]
    rest = [name for name in pool if name not in first and name not in structural]
    return (first + structural + rest)[:MOST_SYNONYMS]


def choose(identifier, usual, has_nitrogen, is_acid):
    """The usual name of a substance and up to eight synonyms.

    `usual` is a name set by hand or None. The name is None when nothing in the lists could be said.
    """
    ordered = candidates_of(identifier, is_acid)
    if usual:
        ordered = [usual, *(name for name in ordered if key(name) != key(usual))]
    if not ordered:
        return None, ()
    name, *others = ordered
    shown = [restore_case(one, has_nitrogen) for one in chosen_synonyms(others)]
    return (usual or restore_case(name, has_nitrogen)), tuple(shown)
