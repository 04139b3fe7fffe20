"""What a tender is made from: workbook, exchange file, drawing, map layers and alignment of a finished plan.

Room: ``tender``, between ``money`` and ``results``. Tables in, contents out: sheets of cells, shapes of a
drawing, texts. Opens nothing but the package's own texts; ``results`` writes the files. It sums and names
what the result tables hold and reckons nothing of engineering or money.
"""

from __future__ import annotations

from routescreen.tender.bill import TenderBill, tender_bill
from routescreen.tender.books import bidders_book, priced_book
from routescreen.tender.exchange import exchange_text
from routescreen.tender.geojson import geojson_parts
from routescreen.tender.landxml import landxml_text
from routescreen.tender.plan_drawing import alignment_drawing
from routescreen.tender.wording import About, words_of

__all__ = [
    "About",
    "TenderBill",
    "alignment_drawing",
    "bidders_book",
    "exchange_text",
    "geojson_parts",
    "landxml_text",
    "priced_book",
    "tender_bill",
    "words_of",
]
