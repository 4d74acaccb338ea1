"""The table of the browser's doors."""

from sync.shed.browser.block_page import block, block_csv, compute
from sync.shed.browser.cell_page import cell
from sync.shed.browser.entering import (
    for_phones,
    front,
    sign_in,
    sign_in_page,
    sign_out,
    speak,
    static,
)
from sync.shed.browser.flag_case_page import flag_case, flag_case_file
from sync.shed.browser.flags_page import flags, rule
from sync.shed.browser.lifts_part import lifts
from sync.shed.browser.pairing_page import close, code, pair, pair_page, revoke_page, revoke_phone
from sync.shed.browser.phones_page import phones
from sync.shed.browser.plan_page import plan
from sync.shed.browser.record_page import help_page, record
from sync.shed.browser.report_page import report, report_file
from sync.shed.browser.return_page import file, permit_return, permit_return_file
from sync.shed.browser.seasons_part import plan_again, seasons
from sync.shed.browser.taking_page import again, aside, take
from sync.shed.browser.typing_page import empty, filled
from sync.shed.doors import Door, Handler, Who
from sync.shed.limits import Limits


def browser_doors(limits: Limits) -> tuple[Door, ...]:
    """Give the browser's doors.

    Parameters
    ----------
    limits : Limits
        The bounds they are held to.

    Returns
    -------
    tuple of Door
        Those that lead in, then the owner's.
    """
    def look(path: str, handler: Handler, who: Who = "owner") -> Door:
        return Door(path, "GET", who, handler, 0, limits.request_s)

    def send(path: str, handler: Handler, who: Who = "owner") -> Door:
        return Door(path, "POST", who, handler, limits.form_bytes, limits.request_s)

    return (
        look("/sign-in", sign_in_page, "anyone"),
        send("/sign-in", sign_in, "anyone"),
        look("/pairing", for_phones, "anyone"),
        look("/static/{name}", static, "anyone"),
        look("/", front),
        send("/sign-out", sign_out),
        send("/language", speak),
        look("/block", block),
        look("/block.csv", block_csv),
        send("/compute", compute),
        look("/cell/{cell}", cell),
        look("/record/{name}", record),
        look("/flags", flags),
        send("/flags/rule", rule),
        look("/flags/{name:path}/page", flag_case),
        look("/flags/{name:path}/page.html", flag_case_file),
        look("/phones", phones),
        look("/phones/pair", pair_page),
        send("/phones/pair", pair),
        look("/phones/code", code),
        send("/phones/code/close", close),
        look("/phones/revoke", revoke_page),
        send("/phones/revoke", revoke_phone),
        Door("/take", "POST", "owner", take, limits.file_bytes, limits.file_s),
        look("/aside", aside),
        send("/aside/again", again),
        look("/type/{kind}", empty),
        send("/type/{kind}", filled),
        look("/plan", plan),
        look("/plan/lifts", lifts),
        look("/plan/seasons", seasons),
        send("/plan/seasons", plan_again),
        look("/report", report),
        look("/report.html", report_file),
        look("/report/return", permit_return),
        send("/report/return", file),
        look("/report/return.html", permit_return_file),
        look("/help", help_page),
    )
