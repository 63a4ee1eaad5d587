"""The conductor: short functions that read as a table of contents, one per command."""

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
from consentpack.pipeline.place import Workplace, open_library, open_workplace, plan_files, plan_of, scorer_of
from consentpack.pipeline.reading import ReportRow, library_report, remarks_on, score_file, write_score_report
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
    "plan_of",
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
