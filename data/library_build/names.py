"""Chooses a usual name and useful synonyms from lists full of registry codes.

The PubChem lists are in lower case and in a rough order of use. A name is taken when a chemist could say it:
no registry code, no CAS number, no inverted index name, no remark in brackets.
"""

import re

MOST_SYNONYMS = 8
LONGEST_NAME = 90
# How deep into a list a name may be looked for; further down come trade names and codes.
DEPTH = 25

CAS_LIKE = re.compile(r"(?<![\d,'-])\d{2,7}-\d\d-\d(?![\d,-])")
INCHI_KEY = re.compile(r"^[a-z]{6,14}-[a-z]{6,10}(-[a-z])?$")
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
    r"\[[a-z ,:-]{3,}\]|\(\d+ci\)|\((van|acd|inn|usan|ban|jan|usp|nf|tn|mi|iupac|iso)\b[^)]*\)|_|%|>|=|≥|;|\$|\||@|\?|"
    r"\b(grade|reagent|standard|solution|purum|puriss|synthesis|tested|certified|anhydrous|powder|crystalline|"
    r"technical|analytical|pharmaceutical|ampule|tablets?|mixture|component|derivative|homopolymer|polymer|labeled|"
    r"lot|usp|acs|fcc|hplc|gc|nmr|pestanal|vetranal|wln|epa|caswell|einecs|registry|spectrum|aldrich|sigma|fluka|"
    r"supelco|tincture|extract|compd|inchi\w*)\b"
)
# "benzene, 1-chloro-", "benzoic acid, 2-methyl-, methyl ester", "acetamide,n-phenyl".
INVERTED = re.compile(r"[a-z)\]'],\s*\S.*|[a-z],[a-z0-9(]{2,}")
# Name parts of one naming program, correct and said by nobody.
UNUSUAL = re.compile(r"oxidanyl|azanyl|sulfanyl|chloranyl|bromanyl|fluoranyl|iodanyl|azanidyl|oxidanidyl|phosphanylidene|azanylidene|boranyl")
FOREIGN = re.compile(
    r"kyselina|saeure|säure|\bacido\b|\bacide\b|acidum|\bzuur\b|kwas |\w+um$|zol$|\bde\b|chlorid$|bromid$|nitro\w*en\w*zen$|"
    r"trojchlor|aethyl|athyl|oxyd\b|benzen$|anilin$|phenon\b$|fenol|naftal|toluen$|\bdi-\w+ol$|amin$|amid$"
)
WORD = re.compile(r"[a-z]{4,}|urea|dopa|ddt|tris|lsd")

STEREO = re.compile(r"\((?:[+-]|\+/-|\d*[erszdl](?:,\d*[ersz])*)\)", re.I)


def clean(raw):
    """A raw name with spelled-out Greek letters and spaces put right."""
    name = re.sub(r"\.(alpha|beta|gamma|delta|epsilon|omega)\.", r"\1", raw.strip().lower())
    name = re.sub(r"\.(\+/-|\+-)\.", "(+/-)", name)
    return re.sub(r"\s+", " ", name).strip(" ,")


def key(name):
    """What two spellings of a name have in common: letters and digits in lower case."""
    return re.sub(r"[^a-z0-9+']", "", name.lower())


def usable(name):
    """Whether a chemist could call a substance so."""
    return not (
        len(name) < 3
        or len(name) > LONGEST_NAME
        or not WORD.search(name)
        or CAS_LIKE.search(name)
        or INCHI_KEY.match(name)
        or REGISTRY.match(name)
        or CODE.match(name)
        or REMARK.search(name)
    )


def is_inverted(name):
    """Whether a name is an index name turned round: "benzene, 1-chloro-"."""
    return bool(re.search(r"[a-z)\]'],\s*[^\s,]", name)) and not re.search(r"^[a-z]+ [a-z]+ acid", name) or name.endswith("-")


def restore_case(name, has_nitrogen):
    """Capital locants in a lower-case name: n-phenylacetamide, 9h-fluorene, (e)-stilbene.

    "n-" before a plain alkyl word stays small, since it may mean normal.
    """
    name = re.sub(r"(?<![a-z])(\d+[a-z]?)h(?=[-,)\]])", r"\1H", name)
    name = re.sub(
        r"\((\d*[a-z]?)([ersz])((?:,\d*[a-z]?[ersz])*)\)",
        lambda found: f"({found[1]}{found[2].upper()}{re.sub('[ersz](?=,|$)', lambda one: one[0].upper(), found[3])})",
        name,
    )
    if has_nitrogen:
        name = re.sub(r"(?<![a-z0-9])n((?:,n)+'*)(?=-)", lambda found: "N" + found[1].upper(), name)
        name = re.sub(r"(?<![a-z0-9])n(,n'+)(?=-)", lambda found: "N" + found[1].upper(), name)
        normal = r"(?:propyl|butyl|pentyl|amyl|hexyl|heptyl|octyl|nonyl|decyl|undecyl|dodecyl|tetradecyl|hexadecyl|octadecyl|\w*an(?:e|oic|al|ol|amide|amine|onitrile)\b)"
        name = re.sub(rf"(?<![a-z0-9])n-(?!{normal})(?=[a-z(\[\d])", "N-", name)
    return name


def rank(name, place):
    """Order of preference of a usable name, smaller first: plain ones in the order of the list."""
    return (is_inverted(name), bool(UNUSUAL.search(name)), bool(FOREIGN.search(name)), place)


def choose(identifier, usual, has_nitrogen):
    """The usual name of a substance and up to eight synonyms.

    `usual` is a name set by hand or None. The name is None when nothing in the lists could be said.
    """
    candidates, seen = [], set()
    raw = [*identifier.names, identifier.systematic]
    for place, one in enumerate(raw):
        name = clean(one)
        if not usable(name) or key(name) in seen:
            continue
        seen.add(key(name))
        candidates.append((rank(name, place if place < len(raw) - 1 else DEPTH), name))
    candidates.sort()
    ordered = [restore_case(name, has_nitrogen) for _, name in candidates]
    if usual:
        ordered = [usual, *(name for name in ordered if key(name) != key(usual))]
    if not ordered:
        return None, ()
    return ordered[0], tuple(ordered[1 : 1 + MOST_SYNONYMS])
