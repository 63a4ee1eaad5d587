"""The conductor: short functions that read as a table of contents, one per command.

Each is fetched when somebody asks for it: whoever scores one file must not wait for the register.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from consentpack.advice import mended
    from consentpack.pipeline.audit import (
        add,
        import_audit,
        overdue,
        past_imports,
        plan_rates,
        propose_columns,
        record,
        save_columns,
        take_back,
    )
    from consentpack.pipeline.checklists import checklists_of_library, checklists_of_plans
    from consentpack.pipeline.demo import copy_demo
    from consentpack.pipeline.library import copy_module, find_module
    from consentpack.pipeline.packs import (
        Pack,
        build,
        make_pack,
        score_plans,
    )
    from consentpack.pipeline.place import Workplace, open_library, open_workplace, plan_files, scorer_of
    from consentpack.pipeline.reading import (
        ReportRow,
        library_report,
        remarks_on,
        score_file,
        write_score_report,
    )
    from consentpack.pipeline.sign_off import StatusRow, approve, languages_left, library_status
    from consentpack.pipeline.translations import check as check_translations
    from consentpack.pipeline.translations import extract, texts
    from consentpack.pipeline.translations import status as translation_status
    from consentpack.pipeline.translations import update as update_translations
    from consentpack.pipeline.watching import (
        compare_techniques,
        rate_table,
        titles,
        watch_over_time,
        write_rate_sheet,
    )
    from consentpack.translate.place import Texts
    from consentpack.translate.po import Stand

__all__ = [
    "Pack",
    "ReportRow",
    "Stand",
    "StatusRow",
    "Texts",
    "Workplace",
    "add",
    "approve",
    "build",
    "check_translations",
    "checklists_of_library",
    "checklists_of_plans",
    "compare_techniques",
    "copy_demo",
    "copy_module",
    "extract",
    "find_module",
    "import_audit",
    "languages_left",
    "library_report",
    "library_status",
    "make_pack",
    "mended",
    "open_library",
    "open_workplace",
    "overdue",
    "past_imports",
    "plan_files",
    "plan_rates",
    "propose_columns",
    "rate_table",
    "record",
    "remarks_on",
    "save_columns",
    "score_file",
    "score_plans",
    "scorer_of",
    "take_back",
    "texts",
    "titles",
    "translation_status",
    "update_translations",
    "watch_over_time",
    "write_rate_sheet",
    "write_score_report",
]

_ROOMS = {
    "consentpack.advice": "mended",
    "consentpack.pipeline.audit": "add import_audit overdue past_imports plan_rates propose_columns record "
    "save_columns take_back",
    "consentpack.pipeline.checklists": "checklists_of_library checklists_of_plans",
    "consentpack.pipeline.demo": "copy_demo",
    "consentpack.pipeline.library": "copy_module find_module",
    "consentpack.pipeline.packs": "Pack build make_pack score_plans",
    "consentpack.pipeline.place": "Workplace open_library open_workplace plan_files scorer_of",
    "consentpack.pipeline.reading": "ReportRow library_report remarks_on score_file write_score_report",
    "consentpack.pipeline.sign_off": "StatusRow approve languages_left library_status",
    "consentpack.pipeline.translations": "check_translations=check extract texts "
    "translation_status=status update_translations=update",
    "consentpack.pipeline.watching": "compare_techniques rate_table titles watch_over_time write_rate_sheet",
    "consentpack.translate.place": "Texts",
    "consentpack.translate.po": "Stand",
}
"""Module -> what is fetched from it, as `name` or `name=its name there`. A test holds it to the imports
above, which are for type checkers."""

if not TYPE_CHECKING:

    def __getattr__(name: str) -> Any:
        for room, names in _ROOMS.items():
            for each in names.split():
                here, _, there = each.partition("=")
                if here == name:
                    found = globals()[name] = getattr(import_module(room), there or here)
                    return found
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
