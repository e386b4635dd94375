"""The words that suppliers head their columns with."""

import re

from stockyard.measures.price import PriceUnit
from stockyard.tally.tally import Role

NAMES: dict[str, Role] = {
    name: role
    for role, names in {
        Role.LENGTH: (
            "l, len, lgth, lgt, lth, length, long, board length, piece length, each length, length "
            "each, cut length, actual length, net length, nett length, lengths, overall length, log "
            "length"
        ),
        Role.WIDTH: (
            "w, wd, wid, wdt, wdth, width, wide, breadth, face width, face, board width, actual width, avg "
            "width, average width, mean width, net width, nett width, mid width, gross width"
        ),
        Role.THICKNESS: (
            "t, th, thk, thick, thkn, thkns, thck, thickness, depth, gauge, actual thickness, board "
            "thickness, net thickness, nett thickness, rough thickness"
        ),
        Role.SECTION: (
            "section, sect, sec, finished size, actual size, dressed size, net size, nett size, rough size, "
            "finished section, nominal section, sawn size, nom size, size, sizes, dim, "
            "dims, dimension, dimensions, profile, cross "
            "section, x section, xsection, end section, section size, timber size, board size, "
            "nominal size, cross sect, w x t, t x w, wxt, txw, width x thickness, thickness x width, "
            "w t, t w, thick x width, thk x width, width x thick, measurement, measurements"
        ),
        Role.SIZE: (
            "l x w x t, lxwxt, length x width x thickness, t x w x l, txwxl, thickness x width x "
            "length, length x width x thick"
        ),
        Role.QUANTITY: (
            "qty, qnty, quant, quantity, pcs, pce, pces, pc, piece, pieces, no of pcs, no of pieces, "
            "number of pieces, no pieces, no pcs, no of, number of, no of boards, number of boards, "
            "boards, board count, sticks, no of sticks, count, piece count, pcs count, nos, number, "
            "number off, no off, off, units, qty pcs, pcs qty, qty pieces, no of lengths, no of each, "
            "total pcs, total pieces, packs pcs"
        ),
        Role.SPECIES: (
            "species, spp, timber, timber species, wood, wood species, kind, kind of wood, type of "
            "timber, timber type, wood type, tree, common name, trade name, spec, material, holzart"
        ),
        Role.GRADE: "grade, grd, gr, quality, qual, class, appearance grade, grade name",
        Role.MARK: (
            "mark, board, board no, board number, board id, board mark, board ref, piece no, piece "
            "number, piece id, piece ref, tag, tag no, tag number, label, barcode, serial, serial no, "
            "ref, reference, id, supplier mark, supplier ref, stock code, stock no, sku, code, item "
            "code, product code"
        ),
        Role.PACK: (
            "pack, pack no, pack number, pack id, packet, packet no, bundle, bundle no, bundle "
            "number, stack, lot no, lot number, batch, batch no, pkt, pkt no, crate"
        ),
        Role.MOISTURE: (
            "mc, moisture, moisture content, moist, mc content, moisture content mc, moisture mc, "
            "moisture pct, mc pct, emc, mc reading, moisture reading"
        ),
        Role.PLACE: "place, location, rack, bay, bin, shelf, yard location, store, storage, where, position",
        Role.NOTE: "note, notes, remark, remarks, comment, comments, observation, observations, memo",
        Role.DEFECTS: (
            "defect, defects, fault, faults, feature, features, defects noted, visible defects, "
            "natural features"
        ),
        Role.DESCRIPTION: (
            "description, desc, descr, item description, product, product description, details, "
            "goods, line description, item details"
        ),
        Role.ORIGIN: "origin, country, country of origin, source, harvest origin, region, state, provenance",
        Role.CLAIM: (
            "claim, fsc claim, pefc claim, certification, certification claim, fsc, pefc, coc claim, "
            "certified, chain of custody"
        ),
        Role.CERTIFICATE: (
            "certificate, certificate no, certificate code, certificate number, cert, cert no, cert "
            "code, fsc code, coc, coc no, coc code, chain of custody code, licence code, license code"
        ),
        Role.PRICE_UNIT: (
            "uom, unit of measure, price unit, price basis, sold by, unit of sale, unit, per, sell "
            "unit, pricing unit, price per, charged by, basis, rate basis, u m, priced by, rate unit, "
            "units of measure"
        ),
        Role.ROW_NUMBER: (
            "row, row no, line, line no, line number, item, item no, item number, seq, sequence, pos, "
            "s no, sl no, sr no"
        ),
        Role.TAX: (
            "gst, vat, tax, gst amount, tax amount, vat amount, sales tax, gst code, tax code, tax "
            "rate, gst pct"
        ),
    }.items()
    for name in names.split(", ")
}
"""Header, in lower case, without units, marks and full stops -> role."""

ROW_OR_COUNT = frozenset({"no", "#", "nr", "num", "item", "n"})
"""Headers that count pieces on one sheet and rows on another: the numbers below decide."""

MEASURES: tuple[tuple[PriceUnit, str], ...] = (
    (
        PriceUnit.THOUSAND_BOARD_FEET,
        r"mbf|mbm|mfbm|(?:1,?000|thousand|m) ?(?:b\.?f\.?|bd\.? ?ft|board (?:feet|foot))",
    ),
    (
        PriceUnit.HUNDRED_SUPER_FEET,
        r"(?:100|hundred|c) ?(?:super\w*|sup)\.?(?: ?(?:feet|foot|ft))?|100 ?s\.?f\.?(?:t\.?)?|"
        r"per 100|/ ?100(?! ?\w)|csf",
    ),
    (
        PriceUnit.BOARD_FOOT,
        r"board (?:feet|foot|ft)|bd\.? ?ft|brd ?ft|bdft|b\.? ?f\.?|b/f|fbm|"
        r"super\w* (?:feet|foot|ft)|sup\.? ?ft|s\.?ft",
    ),
    (PriceUnit.M3, r"m3|m\^3|cbm|cu\.? ?m(?:et(?:re|er)s?)?|cubic ?m(?:et(?:re|er)s?)?|cub\.? ?m"),
    (PriceUnit.CUBIC_FOOT, r"ft3|ft\^3|cu\.? ?ft|cft|cubic (?:feet|foot|ft)"),
    (PriceUnit.M2, r"m2|m\^2|sq\.? ?m(?:et(?:re|er)s?)?|sqm|square met(?:re|er)s?"),
    (
        PriceUnit.LINEAL_FOOT,
        r"l\.?f\.?|l/f|lin\.? ?ft|line(?:al|ar) (?:feet|foot|ft)|ln ?ft|running (?:feet|foot|ft)",
    ),
    (
        PriceUnit.LINEAL_METRE,
        r"l\.? ?m\.?|l/m|l/mtr|lm?tr|lin\.? ?m(?:t?rs?|et(?:re|er)s?)?|"
        r"line(?:al|ar) ?m(?:et(?:re|er)s?)?|ln ?m|"
        r"run(?:ning)?\.? ?m(?:et(?:re|er)s?)?|r/m|metres? run",
    ),
    (PriceUnit.LOT, r"lot|job ?lot|parcel"),
    (PriceUnit.PIECE, r"pcs?|pces?|pieces?|each|ea\.?|boards?|sticks?|planks?|items?|unit"),
)
"""What is measured or sold by, the longer words before those they contain."""

PER_METRE = re.compile(r"(?:/|\bper |\bp/|\ba )\s*(?:m|mtrs?|met(?:re|er)s?)\b(?![23^])")
PER_FOOT = re.compile(r"(?:/|\bper |\bp/|\ba )\s*(?:ft|foot|feet)\b(?![23^])")

PRICE_WORDS = re.compile(
    r"\b(?:price|rate|prices|rates|unit cost|unit price|cost|charge)\b|[$€£¥] ?/|[$€£¥] per"
)
AMOUNT_WORDS = re.compile(
    r"\b(?:amount|amt|value|line total|total (?:price|cost|value|amount)|price total|extended|extension|ext|"
    r"nett?|"
    r"sub ?total|sum|total|invoice value|line value|line amount|total [$€£¥])(?:\b|$)|total ?\([$€£¥]"
)
TAX_OUT = re.compile(
    r"\(?\b(?:ex|excl|exc|excluding|exclusive|before|plus|net of|without|less)\b\.? ?(?:of )?"
    r"(?:gst|vat|tax)\b\)?|\+ ?gst"
)
TAX_IN = re.compile(r"\(?\b(?:inc|incl|including|inclusive|with)\b\.? ?(?:of )?(?:gst|vat|tax)\b\)?")
CURRENCIES = re.compile(r"\b(?:aud|nzd|usd|cad|sgd|eur|gbp)\b|(?:[a-z]{1,2})?\$|[€£¥]")

TOTAL = re.compile(
    r"\s*(?:grand |sub ?-?|running |page |pack |bundle |section |overall |delivery |docket |invoice |order |"
    r"species )*"
    r"(?:totals?|sum|subtotal|carried forward|brought forward|c/f|b/f|balance(?: due)?|amount due|nett total)"
    r"\b.*",
    re.IGNORECASE,
)
CHARGE = re.compile(
    r"\s*(?:freight|delivery|cartage|carriage|transport|haulage|levy|surcharge|fuel levy|fuel surcharge|"
    r"unloading|handling|packing|crane hire|docking fee|rounding|discount|gst|vat|tax|plus gst|deposit|duty|"
    r"insurance|fumigation)\b.*",
    re.IGNORECASE,
)
DITTO = frozenset({'"', "''", "”", "″", "〃", "do", "do.", "ditto", '-"-', '- " -', "as above", "same", "″″"})
EMPTY = frozenset({"", "-", "–", "—", "n/a", "na", "nil", "none", "."})
"""Cells that say there is nothing."""
