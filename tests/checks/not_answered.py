"""Published values that no check answers, each with the reason, so that none is passed over in silence."""

from __future__ import annotations

VARIANCE = "compares an actual month with a standard; the book holds no actual quantities or hours worked"
ACCOUNTS = "stock and ledger of an accounting month; costs are of a piece, not of a period"
VOLUME = "break-even and volume decisions: costs are full costs of a piece, fixed and variable are not parted"
SIMULATION = "spreads and simulations of the tin price: a move of tin is asked as a second book with one price in it"
HISTORY = "statistics of a public price series that is not carried here; a book holds its own diary of quotations"
CASH_FLOW = "payments and interest over years: nothing here discounts money over time"
SHOP_PLANNING = "planning of reductions over a season: prices here come from costs and rules, sales are not recorded"
INVOICE_FILES = "invoice and catalogue interchange files: no such file is written or read"
MARKET = "no figure to work: a description of a market or of a rule"

NOT_ANSWERED = {
    "AL-10": "no figure to work: which standard is in force",
    "AL-13": "a release rate is measured on the article in a laboratory, not worked from a composition",
    "AL-17": "a duty to warn by exposure in a day, which no composition gives; papers send readers to their local rules",
    "CO-04": ACCOUNTS,
    "CO-05": ACCOUNTS,
    "CO-06": ACCOUNTS,
    "CO-16": VARIANCE,
    "CO-17": VARIANCE,
    "CO-18": VARIANCE,
    "CO-20": VARIANCE,
    "CO-21": VARIANCE,
    "CO-22": VARIANCE,
    "CO-24": VARIANCE,
    "CO-28": VOLUME,
    "CO-29": VOLUME,
    "CO-30": VOLUME,
    "CO-32": VOLUME,
    "CO-33": VOLUME,
    "CO-34": VOLUME,
    "CO-36": VOLUME,
    "CO-37": VOLUME,
    "CO-53": ACCOUNTS,
    "CO-54": ACCOUNTS,
    "GT-9": "markup for web pages: no page for search engines is written",
    "LO-P1": "papers are A4 in every language; Letter is not offered",
    "MO-05e": "rounds towards zero at five digits; no amount here is rounded that way",
    "MO-17": "a count over a public set of sample invoices that is not carried here; MO-16 holds the rule itself",
    "MO-18": INVOICE_FILES,
    "MO-20": INVOICE_FILES,
    "MO-21": INVOICE_FILES,
    "MO-22": INVOICE_FILES,
    "PR-25": "the yearly cost of cash terms is given as the simple rate, which PR-24 holds; compounding is another reading",
    "PR-26": "the yearly cost of cash terms is given as the simple rate, which PR-24 holds; compounding is another reading",
    "PR-28": SHOP_PLANNING,
    "PR-29": SHOP_PLANNING,
    "PR-30": SHOP_PLANNING,
    "PR-32": "a quantity break prices the whole line here, never only the units past the break",
    "ST-01": SIMULATION,
    "ST-02": SIMULATION,
    "ST-04": SIMULATION,
    "ST-05": SIMULATION,
    "ST-06": SIMULATION,
    "ST-08": CASH_FLOW,
    "ST-09": CASH_FLOW,
    "TI-04": "a charge of the merchant on the quotation itself: enter the quotation with it",
    "TI-05": "a surcharge that never falls below nothing; a supplier's price here moves both ways with its metal",
    "TI-08": HISTORY,
    "TI-09": HISTORY,
    "TI-10": HISTORY,
    "TI-12": HISTORY,
    "TI-13": MARKET,
}
