"""The conductor: short functions that read as a table of contents, one per command.

Each is fetched when somebody asks for it: whoever scores one file must not wait for the register.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from consentpack.advice import mended
    from consentpack.clinic import find_clinic
    from consentpack.pipeline import as_json, ledger_as_json, start_answers
    from consentpack.pipeline.as_words import again_words, standing_words
    from consentpack.pipeline.audit import (
        add,
        check,
        import_audit,
        past_imports,
        plan_rates,
        record,
        take_back,
        values,
    )
    from consentpack.pipeline.checking import Checkup, check_folder
    from consentpack.pipeline.checklists import checklists_of_library, checklists_of_plans
    from consentpack.pipeline.clinic_languages import language_of, languages_of
    from consentpack.pipeline.column_map import Proposal, propose_columns, save_columns
    from consentpack.pipeline.comparing import compared
    from consentpack.pipeline.demo import copy_demo
    from consentpack.pipeline.dropped import (
        Choices,
        Dropped,
        drop_sheet,
        dropped_sheet,
        dropped_sheets,
        held,
        say_of,
        take_away,
    )
    from consentpack.pipeline.dropping import (
        SheetLook,
        column_meanings,
        keep_dropped,
        look_at,
        noticed_meanings,
        outcome_meanings,
    )
    from consentpack.pipeline.editing import (
        Editable,
        LookedOver,
        Written,
        look_over,
        save_text,
        taken,
        text_to_edit,
    )
    from consentpack.pipeline.figures import (
        ROWS_ON_A_PAGE,
        Figures,
        Opened,
        figures_on,
        figures_page,
        open_figure,
    )
    from consentpack.pipeline.follow_ups import Overdue, due_and_not_asked, overdue, say_follow_up
    from consentpack.pipeline.given_list import Filter, issued
    from consentpack.pipeline.giving import HOW, GivenPack, Handing, give
    from consentpack.pipeline.import_told import imported_words
    from consentpack.pipeline.judging import Judged
    from consentpack.pipeline.ledger_page import write_ledger_page
    from consentpack.pipeline.ledgers import head, new_key
    from consentpack.pipeline.library import copy_module, find_module, new_module
    from consentpack.pipeline.marked import Handed, by_rule, hardest, readable, report_page, score_handed
    from consentpack.pipeline.marking import Marked, mark
    from consentpack.pipeline.migrating import Migrated, migrate
    from consentpack.pipeline.needs import HEADINGS, Group, Need, grouped
    from consentpack.pipeline.needs_counted import counted_needs, needing, seen_for_counting
    from consentpack.pipeline.needs_of_files import last_backup, needs_at_hand
    from consentpack.pipeline.noticed import Noticed
    from consentpack.pipeline.one_folder import go_on_here
    from consentpack.pipeline.packs import build, judge_plan, make_pack
    from consentpack.pipeline.place import (
        Workplace,
        open_library,
        open_workplace,
        plan_files,
        plan_of,
        scorer_of,
    )
    from consentpack.pipeline.plan_answers import (
        Changed,
        Usual,
        answers_in,
        begun,
        between,
        merged,
        questions,
        usual,
        values_in,
    )
    from consentpack.pipeline.plan_drafts import (
        PlanDraft,
        Unfinished,
        draft_name_of,
        draft_of,
        drop_draft,
        keep_draft,
        new_draft_name,
        unfinished,
    )
    from consentpack.pipeline.plan_list import (
        PlanRow,
        given_paper,
        known_words,
        list_plans,
        paper,
        papers_in,
        plan_at,
        plan_row,
        words_of,
    )
    from consentpack.pipeline.plan_look import Figure, Look, look, preview
    from consentpack.pipeline.plan_saving import PlanChanged, languages, save_done, save_plan
    from consentpack.pipeline.plan_steps import ANSWERS, PLAN_STATES, Step, steps_of
    from consentpack.pipeline.print_sets import (
        code_square,
        in_print_order,
        print_set,
        print_set_in,
        save_print_set,
    )
    from consentpack.pipeline.reader_tests import count_reader_test, make_reader_test
    from consentpack.pipeline.reading import (
        ReadFile,
        ReportRow,
        library_report,
        remarks_on,
        score_file,
        score_plans,
        write_score_report,
    )
    from consentpack.pipeline.reading_lists import ToRead, approve_read, plan_with, reading_list, references
    from consentpack.pipeline.rebuilding import as_of_entry
    from consentpack.pipeline.registers import Audit, audit_as_it_stands
    from consentpack.pipeline.restoring import Restored, restore
    from consentpack.pipeline.saving import Saved, backup
    from consentpack.pipeline.showing import STAGES, shown
    from consentpack.pipeline.sign_off import StatusRow, approve, languages_left, library_status
    from consentpack.pipeline.staleness import Stale, stale
    from consentpack.pipeline.starting import Started, start
    from consentpack.pipeline.stories import Story, story, told_on
    from consentpack.pipeline.talk_backs import (
        Marking,
        asked_about,
        mark_talk,
        report_json,
        take_back_talks,
        talk_report,
        talk_report_if_any,
    )
    from consentpack.pipeline.text_page import write_text_page
    from consentpack.pipeline.texts_shown import (
        Part,
        Translation,
        Uses,
        as_read,
        table_lines,
        translations_of,
        where_used,
    )
    from consentpack.pipeline.translations import check as check_translations
    from consentpack.pipeline.translations import extract, texts
    from consentpack.pipeline.translations import status as translation_status
    from consentpack.pipeline.translations import update as update_translations
    from consentpack.pipeline.verifying import Verified, verify
    from consentpack.pipeline.verifying_all import AllVerified, verify_all
    from consentpack.pipeline.visits import (
        GAIN,
        GROUPS,
        Seen,
        case_sessions,
        cases_found,
        due_parted,
        due_visits,
        record_visit,
        visit_of,
    )
    from consentpack.pipeline.watching import (
        compare_techniques,
        rate_table,
        titles,
        watch_over_time,
        write_rate_sheet,
    )
    from consentpack.pipeline.writing import Pack
    from consentpack.register.follow_ups import FOLLOWED_BY, FollowUp
    from consentpack.register.reading import Wanted
    from consentpack.translate.place import Texts
    from consentpack.translate.po import Stand

__all__ = [
    "ANSWERS",
    "FOLLOWED_BY",
    "GAIN",
    "GROUPS",
    "HEADINGS",
    "HOW",
    "PLAN_STATES",
    "ROWS_ON_A_PAGE",
    "STAGES",
    "AllVerified",
    "Audit",
    "Changed",
    "Checkup",
    "Choices",
    "Dropped",
    "Editable",
    "Figure",
    "Figures",
    "Filter",
    "FollowUp",
    "GivenPack",
    "Group",
    "Handed",
    "Handing",
    "Judged",
    "Look",
    "LookedOver",
    "Marked",
    "Marking",
    "Migrated",
    "Need",
    "Noticed",
    "Opened",
    "Overdue",
    "Pack",
    "Part",
    "PlanChanged",
    "PlanDraft",
    "PlanRow",
    "Proposal",
    "ReadFile",
    "ReportRow",
    "Restored",
    "Saved",
    "Seen",
    "SheetLook",
    "Stale",
    "Stand",
    "Started",
    "StatusRow",
    "Step",
    "Story",
    "Texts",
    "ToRead",
    "Translation",
    "Unfinished",
    "Uses",
    "Usual",
    "Verified",
    "Wanted",
    "Workplace",
    "Written",
    "add",
    "again_words",
    "answers_in",
    "approve",
    "approve_read",
    "as_json",
    "as_of_entry",
    "as_read",
    "asked_about",
    "audit_as_it_stands",
    "backup",
    "begun",
    "between",
    "build",
    "by_rule",
    "case_sessions",
    "cases_found",
    "check",
    "check_folder",
    "check_translations",
    "checklists_of_library",
    "checklists_of_plans",
    "code_square",
    "column_meanings",
    "compare_techniques",
    "compared",
    "copy_demo",
    "copy_module",
    "count_reader_test",
    "counted_needs",
    "draft_name_of",
    "draft_of",
    "drop_draft",
    "drop_sheet",
    "dropped_sheet",
    "dropped_sheets",
    "due_and_not_asked",
    "due_parted",
    "due_visits",
    "extract",
    "figures_on",
    "figures_page",
    "find_clinic",
    "find_module",
    "give",
    "given_paper",
    "go_on_here",
    "grouped",
    "hardest",
    "head",
    "held",
    "import_audit",
    "imported_words",
    "in_print_order",
    "issued",
    "judge_plan",
    "keep_draft",
    "keep_dropped",
    "known_words",
    "language_of",
    "languages",
    "languages_left",
    "languages_of",
    "last_backup",
    "ledger_as_json",
    "library_report",
    "library_status",
    "list_plans",
    "look",
    "look_at",
    "look_over",
    "make_pack",
    "make_reader_test",
    "mark",
    "mark_talk",
    "mended",
    "merged",
    "migrate",
    "needing",
    "needs_at_hand",
    "new_draft_name",
    "new_key",
    "new_module",
    "noticed_meanings",
    "open_figure",
    "open_library",
    "open_workplace",
    "outcome_meanings",
    "overdue",
    "paper",
    "papers_in",
    "past_imports",
    "plan_at",
    "plan_files",
    "plan_of",
    "plan_rates",
    "plan_row",
    "plan_with",
    "preview",
    "print_set",
    "print_set_in",
    "propose_columns",
    "questions",
    "rate_table",
    "readable",
    "reading_list",
    "record",
    "record_visit",
    "references",
    "remarks_on",
    "report_json",
    "report_page",
    "restore",
    "save_columns",
    "save_done",
    "save_plan",
    "save_print_set",
    "save_text",
    "say_follow_up",
    "say_of",
    "score_file",
    "score_handed",
    "score_plans",
    "scorer_of",
    "seen_for_counting",
    "shown",
    "stale",
    "standing_words",
    "start",
    "start_answers",
    "steps_of",
    "story",
    "table_lines",
    "take_away",
    "take_back",
    "take_back_talks",
    "taken",
    "talk_report",
    "talk_report_if_any",
    "text_to_edit",
    "texts",
    "titles",
    "told_on",
    "translation_status",
    "translations_of",
    "unfinished",
    "update_translations",
    "usual",
    "values",
    "values_in",
    "verify",
    "verify_all",
    "visit_of",
    "watch_over_time",
    "where_used",
    "words_of",
    "write_ledger_page",
    "write_rate_sheet",
    "write_score_report",
    "write_text_page",
]

_ROOMS = {
    "consentpack.advice": "mended",
    "consentpack.clinic": "find_clinic",
    "consentpack.pipeline.giving": "GivenPack HOW Handing give",
    "consentpack.pipeline.given_list": "Filter issued",
    "consentpack.pipeline.ledger_page": "write_ledger_page",
    "consentpack.pipeline.ledgers": "head new_key",
    "consentpack.pipeline.marking": "Marked mark",
    "consentpack.pipeline.migrating": "Migrated migrate",
    "consentpack.pipeline.staleness": "Stale stale",
    "consentpack.pipeline.starting": "Started start",
    "consentpack.pipeline.stories": "Story story told_on",
    "consentpack.pipeline.verifying": "Verified verify",
    "consentpack.pipeline.verifying_all": "AllVerified verify_all",
    "consentpack.pipeline.as_words": "again_words standing_words",
    "consentpack.pipeline.audit": "add check import_audit past_imports plan_rates record take_back values",
    "consentpack.pipeline.column_map": "Proposal propose_columns save_columns",
    "consentpack.pipeline.checking": "Checkup check_folder",
    "consentpack.pipeline.checklists": "checklists_of_library checklists_of_plans",
    "consentpack.pipeline.demo": "copy_demo",
    "consentpack.pipeline.library": "copy_module find_module new_module",
    "consentpack.pipeline.judging": "Judged",
    "consentpack.pipeline.noticed": "Noticed",
    "consentpack.pipeline.one_folder": "go_on_here",
    "consentpack.pipeline.packs": "build judge_plan make_pack",
    "consentpack.pipeline.place": "Workplace open_library open_workplace plan_files plan_of scorer_of",
    "consentpack.pipeline.plan_answers": "Changed Usual answers_in begun between merged questions usual "
    "values_in",
    "consentpack.pipeline.plan_drafts": "PlanDraft Unfinished draft_name_of draft_of drop_draft keep_draft "
    "new_draft_name unfinished",
    "consentpack.pipeline.plan_look": "Figure Look look preview",
    "consentpack.pipeline.plan_list": "PlanRow given_paper known_words list_plans paper papers_in plan_at "
    "plan_row words_of",
    "consentpack.pipeline.plan_steps": "ANSWERS PLAN_STATES Step steps_of",
    "consentpack.pipeline.plan_saving": "PlanChanged languages save_done save_plan",
    "consentpack.pipeline.reading": "ReadFile ReportRow library_report remarks_on score_file score_plans "
    "write_score_report",
    "consentpack.pipeline.rebuilding": "as_of_entry",
    "consentpack.pipeline.registers": "Audit audit_as_it_stands",
    "consentpack.pipeline.restoring": "Restored restore",
    "consentpack.pipeline.saving": "Saved backup",
    "consentpack.pipeline.showing": "STAGES shown",
    "consentpack.pipeline.sign_off": "StatusRow approve languages_left library_status",
    "consentpack.pipeline.translations": "check_translations=check extract texts translation_status=status "
    "update_translations=update",
    "consentpack.pipeline.watching": "compare_techniques rate_table titles watch_over_time write_rate_sheet",
    "consentpack.pipeline.writing": "Pack",
    "consentpack.register.follow_ups": "FOLLOWED_BY FollowUp",
    "consentpack.register.reading": "Wanted",
    "consentpack.translate.place": "Texts",
    "consentpack.translate.po": "Stand",
    "consentpack.pipeline.follow_ups": "Overdue due_and_not_asked overdue say_follow_up",
    "consentpack.pipeline.figures": "ROWS_ON_A_PAGE Figures Opened figures_on figures_page open_figure",
    "consentpack.pipeline.dropped": "Choices Dropped drop_sheet dropped_sheet dropped_sheets held say_of "
    "take_away",
    "consentpack.pipeline.dropping": "SheetLook column_meanings keep_dropped look_at noticed_meanings "
    "outcome_meanings",
    "consentpack.pipeline.import_told": "imported_words",
    "consentpack.pipeline.visits": "GAIN GROUPS Seen cases_found case_sessions due_parted due_visits "
    "record_visit visit_of",
    "consentpack.pipeline.comparing": "compared",
    "consentpack.pipeline.editing": "Editable LookedOver Written look_over save_text taken text_to_edit",
    "consentpack.pipeline.marked": "Handed by_rule hardest readable report_page score_handed",
    "consentpack.pipeline.needs": "HEADINGS Group Need grouped",
    "consentpack.pipeline.needs_of_files": "last_backup needs_at_hand",
    "consentpack.pipeline.needs_counted": "counted_needs needing seen_for_counting",
    "consentpack.pipeline.reading_lists": "ToRead approve_read plan_with reading_list references",
    "consentpack.pipeline.texts_shown": "Part Translation Uses as_read table_lines "
    "translations_of where_used",
    "consentpack.pipeline.print_sets": "code_square in_print_order print_set print_set_in save_print_set",
    "consentpack.pipeline.reader_tests": "count_reader_test make_reader_test",
    "consentpack.pipeline.text_page": "write_text_page",
    "consentpack.pipeline.talk_backs": "Marking asked_about mark_talk report_json take_back_talks "
    "talk_report talk_report_if_any",
    "consentpack.pipeline.clinic_languages": "language_of languages_of",
}
"""Module -> what is fetched from it, as `name` or `name=its name there`. A test holds it to the imports
above, which are for type checkers."""

if not TYPE_CHECKING:

    def __getattr__(name: str) -> Any:
        if name in ("as_json", "ledger_as_json", "start_answers"):
            return import_module(f"consentpack.pipeline.{name}")
        for room, names in _ROOMS.items():
            for each in names.split():
                here, _, there = each.partition("=")
                if here == name:
                    found = globals()[name] = getattr(import_module(room), there or here)
                    return found
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
