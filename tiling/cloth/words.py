"""Words of the trade in names and titles: darts, what lies inside a garment or on it, cords, trims.

English, German, French, Spanish, Italian, Dutch, Portuguese, Swedish and Polish; the lists are from memory. Words are
compared without accents and in lower case, and a name's hyphens and underscores count as spaces.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = [
    "is_dart",
    "is_elastic",
    "is_height",
    "is_nightwear",
    "is_pleat",
    "layer_word",
    "names_no_seam",
    "plain_words",
    "runs_as_cord",
]

_PARTED = {"ł": "l", "ø": "o", "đ": "d", "ß": "ss", "æ": "ae"}
_ASIDE = re.compile(r"[(\[,:;].*$|\b(with|for|mit|fur|avec|pour|con|para|per|met|voor|com|med|till|z|na|do)\b.*$")


def _one_of(*stems: str) -> re.Pattern[str]:
    """Any of the stems; one that begins or ends with a tilde may have letters there (compounds, endings)."""
    parts = [("" if s[0] == "~" else r"\b") + s.strip("~") + ("" if s[-1] == "~" else r"\b") for s in stems]
    return re.compile("|".join(parts))


_DARTS = _one_of(
    "darts?", "abnaher~", "pinces?", "pinzas?", "ripres[ae]", "figuurna~", "coupenad~", "pences?", "insnitt~",
    "zaszewk~",
)  # fmt: skip
_PLEATS = _one_of(
    "pleats?", "tucks?", "~falten?", "biesen?", "plis?", "pliegues?", "pieg(a|he)", "~plooi(en)?", "pregas?", "~veck",
    "zakladk~", "fald~",
)  # fmt: skip
_INNER = {
    "lining": _one_of(
        "lining", "futter~", "~futter", "doublure~", "forros?", "foder[ae]?", "voering~", "~voering", "foder",
        "podszewk~",
    ),
    "interfacing": _one_of(
        "interfacing", "interlining", "einlage~", "entoilage~", "entretelas?", "interfoder[ae]", "tussenvoering~",
        "mellanlagg~", "usztywni~",
    ),
    "facing": _one_of(
        "facings?", "~belege?", "parementures?", "vistas?", "paramontur[ae]", "beleg(gen)?", "revel", "infodring~",
        "odszyci~", "oblozeni~",
    ),
    "pocket": _one_of(
        "pockets?", "flaps?", "~taschen?", "taschen~", "poches?", "rabats?", "bolsillos?", "tasc(a|he)", "~zak(ken)?",
        "zakken", "bolsos?", "~ficka", "~fickor", "kieszen~",
    ),
}  # fmt: skip
_NO_SEAM = _one_of(
    "top ?stitch~", "edge ?stitch~", "stay ?stitch~", "under ?stitch~", "quilt~", "pockets?", "button ?holes?",
    "absteppung~", "steppnaht", "ziernaht", "~tasche", "surpiqures?", "pespuntes?", "impunture?", "doorstik~",
    "pespontos?", "~stickning~", "stebnowk~",
)  # fmt: skip
_CORDS = _one_of(
    "(draw ?)?cords?", "(draw ?)?strings?", "ties?(?! ?dye)", "tie ?(belts?|strings?|bands?)", "laces", "lacing",
    "shoe ?laces?", "sash(es)?", "halter~", "~kordeln?", "kordel~", "~schnur~", "~schnure", "bindeband~",
    "bindegurtel", "zugband~", "~scharpen?", "nackentrager", "senkel", "schnursenkel", "cordons?", "cordelettes?",
    "lacets?", "liens?", "ceinture a nouer", "coulisse", "cordon(es)?", "lazos?", "cintas? para atar", "fajin(es)?",
    "cordoncin[io]", "lacci(o)?", "fusciacc(a|he)", "koord(en|jes?)?", "~koord", "strik(band)?en", "strikband",
    "veters?", "sjerp(en)?", "atacador(es)?", "cordao", "cordoes", "faixas?", "snoren?", "~snore", "snoddar?",
    "knytband", "~skarp", "sznur~", "troczk~", "szarf~",
)  # fmt: skip
_BANDS = _one_of(
    "lace", "ribbons?", "~bandel", "satinband", "zierband", "rubans?", "cintas?", "nastr[io]", "lint(en)?", "fitas?",
    "sidenband", "tasiemk~", "wstazk~",
)  # fmt: skip
_TRIMS = _one_of(
    "trim~", "~edging", "insertions?", "inserts?", "applique~", "hair", "border", "besatz~", "spitze~", "borte~",
    "garnir", "garniture", "adornar", "adorno", "guarnir~", "afzetten", "enfeit~", "~dekor~", "ozdob~",
    "lace (fabric|cloth|panel)", "(cotton|eyelet|stretch|torchon) lace", "decorat~",
)  # fmt: skip
_PIPING = _one_of("~piping", "~paspel~", "passepoil~", "vivo", "profilo", "wypustk~")
_HEIGHT = _one_of(
    "(body )?height", "stature", "(korper)?grosse", "korperhohe", "estatura", "statura", "altezza",
    "(lichaams)?lengte", "altura", "kroppslangd", "langd", "wzrost",
)  # fmt: skip
_ELASTIC = _one_of("elastic~", "~gummi~", "elastique~", "elastiek~", "resar~", "gum(a|k)~", "elastyczn~")
_NIGHT = re.compile(
    r"night|sleep|pyjama|pajama|\b(robe|robes|dressing gown|bathrobe|onesie|bed jacket)\b|nachthemd|schlafanzug|"
    r"schlafsack|bademantel|chemise de nuit|grenouillere|camison|camicia da notte|nachtjapon|slaapzak|camisa de noite|"
    r"nattlinne|pizam|koszula nocna"
)


def plain_words(text: str) -> str:
    """The text in lower case, without accents, its hyphens and underscores as spaces."""
    parts = unicodedata.normalize("NFKD", text.casefold())
    letters = "".join(_PARTED.get(c, c) for c in parts if not unicodedata.combining(c))
    return " ".join(re.sub(r"[-_\u2010\u2011./]+", " ", letters).split())


def is_dart(name: str) -> bool:
    """Whether a line's name says that it is part of a dart."""
    return bool(_DARTS.search(plain_words(name)))


def is_pleat(name: str) -> bool:
    """Whether a line's name says that it is part of a pleat or a tuck."""
    return bool(_PLEATS.search(plain_words(name)))


def names_no_seam(name: str) -> bool:
    """Whether a line's name says that it is sewn on the piece and joins nothing: topstitching, a pocket."""
    return bool(_NO_SEAM.search(plain_words(name)))


def layer_word(title: str) -> str:
    """What a piece's title says it is, where that is no part of the outer layer; empty where it says no such thing.

    Returns:
        ``lining``, ``interfacing``, ``facing`` or ``pocket``. What follows a ``with`` or a ``for`` does not count: a
        front with a pocket is a front.
    """
    words = _ASIDE.sub("", plain_words(title))
    return next((what for what, pattern in _INNER.items() if pattern.search(words)), "")


def runs_as_cord(text: str) -> bool:
    """Whether something to buy is a cord, tie, sash or halter, or a ribbon or lace that is not said to be a trim."""
    words = plain_words(text)
    if _CORDS.search(words):
        return not _PIPING.search(words)
    return bool(_BANDS.search(words)) and not _TRIMS.search(words)


def is_elastic(text: str) -> bool:
    """Whether something to buy stretches, and so is shorter than the casing it runs in."""
    return bool(_ELASTIC.search(plain_words(text)))


def is_height(name: str) -> bool:
    """Whether a body measure is the whole body's height."""
    return bool(_HEIGHT.fullmatch(plain_words(name)))


def is_nightwear(text: str) -> bool:
    """Whether the garment is worn in bed, or is a robe."""
    return bool(_NIGHT.search(plain_words(text)))
