"""One slip in a shipped file that rooms read as it stands: told with its line, its name and what to do.

The same problems come at load and from `whyplan check`: both read a book through `read_draft`. A
slip is put into the text of one file, and that file alone is read and checked again beside the rest.
"""

import dataclasses
import shutil
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.cli.main import main
from assistant.knowledge import rules_directory
from assistant.knowledge.checks.documents import check_documents
from assistant.knowledge.draft import Draft, Origin
from assistant.knowledge.drafting import read_draft
from assistant.knowledge.shapes import shape
from assistant.knowledge.strict_yaml import parse_text
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import FILES
from assistant.model.language import Language


class Planted(NamedTuple):
    """A piece of text that stands once in a file, the slip, and what is told about it.

    at: where the place is, if it is not where the slip is: the line on which this text stands.
    """

    file: str
    old: str
    new: str
    code: str
    says: str
    at: str = ""


# fmt: off
PLANTED = {
    # plan.yaml
    "a fact in a sentence": Planted("plan", "Goal: {client.goal}.", "Goal: {client.gaol}.", "unknown-fact", "did you mean `client.goal`"),
    "a fact a line is about": Planted("plan", "about: [body.bmi]", "about: [body.bmy]", "unknown-fact", "did you mean `body.bmi`"),
    "a fact with a value an element": Planted("plan", "{element}: {week.day_type[element]}.", "{element}: {week.day_type}.", "bad-index", "week.day_type[element]"),
    "a part of a placeholder": Planted("plan", 'Carbohydrate: about {carbohydrate.g_per_day} g a day."\n', 'Carbohydrate: about {carbohydrate.g_per_day:rang} g a day."\n', "unknown-fact", "carbohydrate.g_per_day"),
    "a slot of a phrase": Planted("plan", "Ask these questions again by {date}.", "Ask these questions again by {day}.", "bad-placeholder", "allowed: date"),
    "a brace alone": Planted("plan", "Meanwhile: {training}", "Meanwhile: {training", "bad-placeholder", "a brace without its partner"),
    "a phrase left out": Planted("plan", '  stopped: "No plan today.', '  stoped: "No plan today.', "unknown-field", "did you mean `stopped`"),
    "a phrase that says nothing": Planted("plan", 'all_clear_client: "Nothing you told us stands in the way."', 'all_clear_client: ""', "bad-value", "text that says something"),
    "a key of a part": Planted("plan", "if_true: phase.date_ahead", "iff_true: phase.date_ahead", "unknown-field", "did you mean `if_true`"),
    "a part that is none": Planted("plan", "{special: caution}", "{specal: caution}", "bad-value", "{special: ...}"),
    "a part with its own composer": Planted("plan", "{special: caution}", "{special: cautions}", "bad-value", "'caution'"),
    "a beginning of notes": Planted("plan", "{notes: advice.phase_}", "{notes: advise.phase_}", "unknown-name", "beginning of a fact"),
    "a gap": Planted("plan", "gaps: [training.level,", "gaps: [training.lvel,", "unknown-fact", "did you mean `training.level`"),
    "a domain": Planted("plan", "each: girth", "each: girht", "unknown-domain", "did you mean `girth`"),
    "an element without each": Planted("plan", "        each: girth\n", "", "bad-placeholder", "say which with `each`", '        about: ["record.girth_change_cm[element]"]'),
    "a line twice": Planted("plan", "line: aim.support", "line: aim.priorities", "repeated-id", "stands twice"),
    "a condition that is no yes or no": Planted("plan", "if_true: phase.date_ahead", "if_true: phase.now", "bad-type", "no yes/no fact"),
    # wording.yaml
    "a unit": Planted("wording", "kcal/kg/d: kcal", "kcal/kgg/d: kcal", "unknown-unit", "kcal/kgg/d"),
    "a label": Planted("wording", "  hamstrings: back thighs", "  hamstring: back thighs", "unknown-name", "did you mean `hamstrings`"),
    "a label of one fact": Planted("wording", "dose.role.typical: normal", "dose.role.tipical: normal", "unknown-name", "did you mean `typical`"),
    "a label of a place": Planted("wording", "site.upper_arm:", "site.uper_arm:", "unknown-girth", "did you mean `upper_arm`"),
    "what is counted": Planted("wording", "week.days_free: [", "week.day_free: [", "unknown-fact", "did you mean `week.days_free`"),
    "a shelf of words": Planted("wording", "grammar:\n", "gramar:\n", "unknown-field", "did you mean `grammar`"),
    # reviews.yaml
    "a rule that was signed": Planted("reviews", "reviews: []", "reviews: [{rule: SLP-01, statement: '68de5bf98c6e', agrees: true, by: Mara Quill, profession: dietitian, day: '2026-03-02'}]", "unknown-rule", "`SLP-01` is no rule"),
    # attention.yaml
    "a reason": Planted("attention", "finds: silent", "finds: silnt", "bad-value", "'silent'"),
    "a number of a reason": Planted("attention", "limit: screen.fast_gain_percent_per_week", "limit: screen.fast_gain_per_week", "unknown-parameter", "mean `screen.fast_gain_percent_per_week`"),
    "a name of a number": Planted("attention", "numbers: {ahead: ", "numbers: {a_head: ", "bad-value", "must name ahead"),
    "a slot of a reason": Planted("attention", "mood {mood} of 5", "mood {moood} of 5", "bad-placeholder", "allowed: mood, day, client"),
    "safety behind": Planted("attention", '  - finds: referral_open\n    say: "parts of the plan wait for {roles}"\n', "", "missing-reason", "put it back", "reasons:\n"),
    # calendar.yaml
    "a number of the calendar": Planted("calendar", "whole_minutes: calendar.whole_minutes", "whole_minutes: calendar.whole_minute", "unknown-parameter", "mean `calendar.whole_minutes`"),
    "a slot of the calendar": Planted("calendar", 'session: {coach: "{client}: {type}"', 'session: {coach: "{client}: {kind}"', "bad-placeholder", "allowed: client, type"),
    "a voice": Planted("calendar", 'client: "Bring your questions."', 'cleint: "Bring your questions."', "unknown-field", "did you mean `client`"),
    "a day": Planted("calendar", "check_in_day: sun", "check_in_day: sunday", "bad-value", "'sun'"),
    # message.yaml
    "a decision of a message": Planted("message", "  look_into_fall:\n", "  look_into_fal:\n", "unknown-name", "did you mean `look_into_fall`"),
    "a fact of a message": Planted("message", "about: review.week_away", "about: review.week_awy", "unknown-fact", "did you mean `review.week_away`"),
    "a line of a message before this one": Planted("message", "unless_said: [food]", "unless_said: [fod]", "unknown-line", "no line before this one"),
    "a line of the plan behind a message": Planted("message", "as_line: review.lifts", "as_line: review.lift", "unknown-name", "did you mean `review.lifts`"),
    "the greeting of a message": Planted("message", 'greeting: "Hello {name},"', 'greeting: "Hello {nme},"', "bad-placeholder", "did you mean `name`"),
    # check.yaml
    "a pattern of words": Planted("check", "(scientifically|clinically)", "(scientifically|clinically", "bad-pattern", "correct the brackets"),
    "a certainty": Planted("check", "\\b', from: moderate}\n  - {pattern: '\\b(optimal", "\\b', from: moderat}\n  - {pattern: '\\b(optimal", "bad-value", "'moderate'"),
    # checkin.yaml
    "a lift": Planted("checkin", "  rdl: rdl_barbell", "  rdl: rdl_barbel", "unknown-exercise", "did you mean `rdl_barbell`"),
    "an output": Planted("checkin", "held_back_by: [protein_number]", "held_back_by: [protein_numbr]", "unknown-output", "did you mean `protein_number`"),
    "a section": Planted("checkin", "    section: week\n    reads: eating", "    section: weak\n    reads: eating", "unknown-name", "did you mean `week`"),
    "a measure": Planted("checkin", "  sleep_hours:\n", "  sleep_hour:\n", "unknown-field", "did you mean `sleep_hours`"),
    "a range turned round": Planted("checkin", "reserve: [0, 10]", "reserve: [10, 0]", "bad-range", "not a range"),
    "a question of nothing": Planted("checkin", "    reads: days\n", "", "bad-value", "`reads` or `measure`", "  - id: cycle\n"),
    # exchange.yaml
    "a coded fact": Planted("exchange", "fact: client.neck_cm", "fact: client.nek_cm", "unknown-fact", "did you mean `client.neck_cm`"),
    "a source": Planted("exchange", "source: loinc-second-hand}\npanels", "source: loinc-second-hnad}\npanels", "unknown-source", "mean `loinc-second-hand`"),
    "a panel": Planted("exchange", "Diastolic blood pressure, category: vital-signs,\n      panel: 85354-9", "Diastolic blood pressure, category: vital-signs,\n      panel: 85354-8", "unknown-panel", "mean `85354-9`"),
    "an answer": Planted("exchange", "when: {client.waist_site: midway}", "when: {client.waist_site: midwy}", "unknown-choice", "did you mean `midway`"),
    # overrides.yaml
    "a line of the plan": Planted("overrides", "  food.protein:", "  food.protien:", "unknown-name", "did you mean `food.protein`"),
    "a limit": Planted("overrides", "at_most: [block.longest_weeks]", "at_most: [block.longest_week]", "unknown-fact", "mean `block.longest_weeks`"),
    # proportions.yaml
    "a proportion": Planted("proportions", "body.waist_to_hip: {", "body.waist_to_hips: {", "unknown-fact", "mean `body.waist_to_hip`"),
    "percentiles out of order": Planted("proportions", "[0.666, 0.698,", "[0.698, 0.666,", "bad-value", "percentiles rise"),
    # flags.yaml
    "a voice of a role": Planted("flags", 'dietitian: {coach: "a dietitian", client:', 'dietitian: {coach: "a dietitian", cleint:', "unknown-field", "did you mean `client`"),
    "an hour of urgency": Planted("flags", '  same_day: {coach: "the same day", client: "today"}', '  same_days: {coach: "the same day", client: "today"}', "unknown-name", "did you mean `same_day`"),
    "a slot of the note": Planted("flags", "We continue: {training}", "We continue: {trainings}", "bad-placeholder", "did you mean `training`"),
    # muscles.yaml
    "a muscle of the book": Planted("muscles", "{id: calves,", "{id: calfs,", "unknown-muscle", "did you mean `calves`"),
    "a region": Planted("muscles", "{id: calves, name: Calves, region: lower", "{id: calves, name: Calves, region: low", "bad-value", "'lower'"),
    # exercises.yaml
    "a pattern": Planted("exercises", "    name: Leg press\n    pattern: leg_press", "    name: Leg press\n    pattern: leg_pres", "unknown-name", "did you mean `leg_press`"),
    "a muscle": Planted("exercises", "primary: {obliques: 1.0}\n    secondary: {forearms: 0.5, glute_med_min", "primary: {obliqes: 1.0}\n    secondary: {forearms: 0.5, glute_med_min", "unknown-name", "did you mean `obliques`"),
    "a piece of equipment": Planted("exercises", "dumbbells_home: [bodyweight, dumbbell,", "dumbbells_home: [bodyweight, dumbell,", "unknown-name", "did you mean `dumbbell`"),
    "a credit": Planted("exercises", "secondary: {glute_max: 0.5, mid_upper_back: 0.25}\n    unilateral: false", "secondary: {glute_max: 0.6, mid_upper_back: 0.25}\n    unilateral: false", "bad-value", "credit 0.6 is not one of"),
    "a skill": Planted("exercises", "    skill: 1\n    loadability: 1\n    joint_stress: [low_back]\n    home_friendly: true\n    rep_zones: [moderate, light]\n    rest_s: 45", "    skill: 4\n    loadability: 1\n    joint_stress: [low_back]\n    home_friendly: true\n    rep_zones: [moderate, light]\n    rest_s: 45", "bad-value", "1, 2 or 3"),
    "a rest": Planted("exercises", "rest_s: 60\n    setup_s: 10\n    position: standing\n    peak_tension: lengthened\n    flags: [deep_knee_flexion]\n    regressions: []\n    progressions: [squat_goblet]", "rest_s: long\n    setup_s: 10\n    position: standing\n    peak_tension: lengthened\n    flags: [deep_knee_flexion]\n    regressions: []\n    progressions: [squat_goblet]", "bad-value", "a whole number"),
    "a link that goes one way": Planted("exercises", "squat_smith, squat_wide_dumbbell]", "squat_smith]", "one-way-link", "`squat_goblet` does not name `squat_wide_dumbbell` under progressions", "    regressions: [squat_goblet]\n    progressions: [squat_box_barbell, lunge"),
    "a study": Planted("exercises", "evidence: [nunes-2020curl]", "evidence: [nunes-2020crul]", "unknown-source", "did you mean `nunes-2020curl`"),
    "a grade above its sources": Planted("exercises", "evidence: [nunes-2020curl]\n    grade: low", "evidence: [nunes-2020curl]\n    grade: strong", "grade-too-high", "allowed: moderate"),
    "an exercise twice": Planted("exercises", "  - id: squat_goblet\n", "  - id: squat_bodyweight\n", "repeated-id", "stands twice"),
    # programme.yaml
    "a setting without its source": Planted("programme", "free_bar_equipment: {value: [barbell, hex_bar], source: common-practice-training,", "free_bar_equipment: {value: [barbell, hex_bar],", "missing-field", "`clock.free_bar_equipment.source`"),
    "a section of settings": Planted("programme", "loads:\n", "load:\n", "unknown-field", "did you mean `loads`"),
    "a type of day": Planted("programme", "{id: one_full, types: [full]", "{id: one_full, types: [ful]", "unknown-name", "did you mean `full`"),
    "a muscle of tight weeks": Planted("programme", "calves, abs, obliques, spinal_erectors]}", "calfs, abs, obliques, spinal_erectors]}", "unknown-name", "did you mean `calves`"),
    "a pattern of a wish": Planted("programme", "- {id: row, name: row, patterns: [horizontal_pull]}", "- {id: row, name: row, patterns: [horizontal_pul]}", "unknown-name", "mean `horizontal_pull`"),
    # limits.yaml
    "a mark of a limit": Planted("limits", "flags: [impact]", "flags: [inpact]", "unknown-name", "did you mean `impact`"),
    "a limit that is covered": Planted("limits", "covers: [four_sets]", "covers: [for_sets]", "unknown-limit", "did you mean `four_sets`"),
    "a limit of the book": Planted("limits", "  - id: end_range\n", "  - id: end_rage\n", "unknown-limit", "did you mean `end_range`"),
    "a weight of a phase": Planted("programme", "weights: {low_quarter_set: 6", "weights: {low_quater_set: 6", "unknown-weight", "low_quarter_set"),
    "a zone": Planted("limits", "zones: [very_light]", "zones: [very_ligth]", "unknown-zone", "did you mean `very_light`"),
    # figures.yaml
    "a table of the body": Planted("figures", "source: drillis-contini-1966", "source: drillis-contini-1996", "unknown-source", "did you mean `drillis-contini-1966`"),
    "a measure of the body": Planted("figures", "  shank: 0.246", "  shanks: 0.246", "unknown-field", "did you mean `shank`"),
    # languages
    "a message": Planted("languages/de", "  day_short_mon:", "  day_short_mom:", "unknown-field", "did you mean `day_short_mon`"),
    "a slot of a message": Planted("languages/de", '  title: "Plan für {name}"', '  title: "Plan für {namen}"', "bad-placeholder", "which the original does not"),
    "a slot of a translation": Planted("languages/de", 'say: "Dein Ziel: {client.goal}.', 'say: "Dein Ziel: {client.ziel}.', "bad-placeholder", "names {client.ziel}"),
    "a translated exercise": Planted("languages/de", "  squat_goblet: ", "  squat_gobblet: ", "unknown-exercise", "did you mean `squat_goblet`"),
    "a translated label": Planted("languages/de", "  hamstrings: ", "  hamstring: ", "unknown-name", "did you mean `hamstrings`"),
    "a field of the grammar": Planted("languages/de", "  decimal_mark:", "  decimalmark:", "unknown-field", "decimal_mark"),
    "a file under another name": Planted("languages/de", "language: de", "language: en", "misnamed-file", "name both the same"),
}
# fmt: on


@pytest.fixture(scope="module")
def draft() -> Draft:
    """The shipped book with the line of every part."""
    made, problems = read_draft(calculators=CALCULATORS)
    assert problems == []
    assert made is not None
    return made


def told(draft: Draft, file: str, text: str) -> list[Problem]:
    """What the loader says about one file with this text, the rest as it is."""
    folder, _, stem = file.rpartition("/")
    try:
        parsed = parse_text(text, f"rules/{file}.yaml")
    except InputProblems as error:
        return list(error.problems)
    made = shape(Language if folder else FILES[stem], parsed.data, parsed, ())
    if isinstance(made, list):
        return made
    kind = "language" if folder else "document"
    shelf = "languages" if folder else "files"
    changed: dict[str, Any] = {shelf: {**getattr(draft, shelf), stem: made}}
    if isinstance(made, Language) and made.language != stem:
        return [Problem(f"rules/{file}.yaml:3", "misnamed-file", "name both the same")]
    origins = {**draft.origins, (kind, stem): Origin(parsed)}
    other = dataclasses.replace(draft, origins=origins, **changed)
    return check_documents(other)


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_fault_is_told(name: str, draft: Draft) -> None:
    fault = PLANTED[name]
    text = (rules_directory() / f"{fault.file}.yaml").read_text(encoding="utf-8")
    assert text.count(fault.old) == 1, f"{fault.old!r} stands {text.count(fault.old)} times"
    spoiled = text.replace(fault.old, fault.new)
    shorter = min(len(fault.old), len(fault.new))
    changed = next((n for n in range(shorter) if fault.old[n] != fault.new[n]), shorter)
    at = spoiled.index(fault.at) if fault.at else text.index(fault.old) + changed
    place = f"rules/{fault.file}.yaml:{spoiled.count(chr(10), 0, at) + 1}"
    problems = told(draft, fault.file, spoiled)
    assert any(
        (p.place, p.code) == (place, fault.code) and fault.says in p.text for p in problems
    ), "\n".join([f"wanted {place}: {fault.code}: {fault.says}", *map(str, problems)])


def test_load_and_check_tell_the_same_places(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Four slips in one copy of the book, one of them in the words of the emergency flag."""
    book = tmp_path / "rules"
    shutil.copytree(rules_directory(), book, ignore=shutil.ignore_patterns("schema"))
    slips = [
        ("flags/symptom_now.yaml", "client: ", "cleint: ", "unknown-field"),
        ("plan.yaml", "Goal: {client.goal}.", "Goal: {client.gaol}.", "unknown-fact"),
        (
            "exercises.yaml",
            "secondary: {adductors: 0.5}",
            "secondary: {aductors: 0.5}",
            "unknown-name",
        ),
        ("exercises.yaml", "    axial_load: high\n", "    axial_load: hihg\n", "unknown-name"),
    ]
    wanted = set()
    for file, old, new, code in slips:
        path = book / file if (book / file).is_file() else book / "flags.yaml"
        text = path.read_text(encoding="utf-8")
        begin = text.index("symptom_now:") if path.stem == "flags" else 0
        at = text.index(old, begin)
        path.write_text(text[:at] + new + text[at + len(old) :], encoding="utf-8")
        shown = f"rules/{path.relative_to(book).as_posix()}"
        wanted.add(f"{shown}:{text.count(chr(10), 0, at) + 1}: {code}")
    assert main(["plan", "cases/stop_today.yaml", "--rules", str(book)]) == 2
    loaded = capsys.readouterr().err
    assert main(["check", "--only", "schema", "--rules", str(book)]) == 1
    checked = capsys.readouterr().out
    for line in wanted:
        assert line in loaded
        assert line.rpartition(": ")[0] in checked
        assert line.rpartition(": ")[2] in checked


def test_every_file_has_its_faults() -> None:
    assert {fault.file.rpartition("/")[2] for fault in PLANTED.values()} >= {*FILES, "de"}
    assert len(PLANTED) >= 60


def test_the_files_as_they_are_have_none(draft: Draft) -> None:
    assert check_documents(draft) == []
