"""Languages: each says all that another says, and the sentences of the results are said whole."""

from __future__ import annotations

import re

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.assumptions import load_assumptions
from routescreen.errors import AssumptionsError
from routescreen.languages import ENGLISH, languages, speech_of, texts_of
from routescreen.languages.tables import spoken
from tests.languages.walk import MODULES, PACKAGE, sentences_of, warnings_of

OTHERS = [language for language in languages() if language != ENGLISH]
GERMAN = speech_of("de")
SENTENCES = sorted(texts_of("de")["sentences"])
# A type's name in the sources; and a sentence that is said in its parts.
NOT_SAID = {
    "Treatment | None",
    (
        "{0} {1}{2} {3}{4}: {5} instead of {6}. They differ in {7}; {8} passed otherwise; {9} newly {10}, "
        "{11} no longer"
    ),
}
# English falls back on the schema's own words for columns and values, and its cautions are the schema's.
SCHEMAS_OWN = re.compile(
    r"report\.(columns|values|caution|not_in_bill)|tender\.(headings|values|units|classes)"
    r"|tender\.texts\.(caution|not_in_bill|never_priced)|sentences|joints|name"
)


def leaves(node: object, at: str = "") -> dict[str, str]:
    if isinstance(node, dict):
        return {
            key: text for name, below in node.items() for key, text in leaves(below, f"{at}.{name}").items()
        }
    if isinstance(node, list):
        return {
            key: text for k, below in enumerate(node) for key, text in leaves(below, f"{at}[{k}]").items()
        }
    return {at.removeprefix("."): str(node)}


def gaps(text: str) -> list[str]:
    return sorted(re.findall(r"\{\w*\}", text))


def test_there_are_english_and_german():
    assert {"en", "de"} <= set(languages())


@pytest.mark.parametrize("language", OTHERS)
def test_no_key_is_missing_and_gaps_are_the_same(language):
    english, other = leaves(texts_of(ENGLISH)), leaves(texts_of(language))
    assert set(english) <= set(other)
    assert [key for key in other if key not in english and not SCHEMAS_OWN.match(key)] == []
    assert {key: gaps(other[key]) for key in english} == {key: gaps(text) for key, text in english.items()}


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_has_the_gaps_of_its_english_and_none_is_empty(language):
    sentences = texts_of(language)["sentences"]
    assert [english for english, said in sentences.items() if gaps(english) != gaps(said)] == []
    assert all(said.strip() for said in sentences.values())


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("modules", MODULES)
def test_every_sentence_of_the_sources_is_said(language, modules):
    speech, lacking = speech_of(language), []
    for path in PACKAGE.glob(modules):
        for sentence in sorted(sentences_of(path) - NOT_SAID):
            if speech.unknown(re.sub(r"\{\d+\}", "7", sentence)):
                lacking.append(f"{path.name}: {sentence}")
    assert lacking == []


@pytest.mark.parametrize("language", OTHERS)
def test_every_warning_of_the_reading_is_said(language):
    """They stand in the report beside the others: in English there they would be a mix."""
    told = {text for path in PACKAGE.glob("inputs/*.py") for text in warnings_of(path)}
    assert len(told) > 20  # else the walk finds nothing
    gaps_filled = {text: re.sub(r"\{\d+\}", "7", text) for text in told if text != "{0}: {1}"}
    assert [text for text, whole in gaps_filled.items() if speech_of(language).unknown(whole)] == []


def test_warnings_of_the_reading():
    roads = GERMAN(
        "There is no layer of access roads: 1 020 crossings of the kinds main_road, road, track stand for "
        "them, up to 2 km from the corridor."
    )
    assert roads.startswith("Es gibt keinen Layer access: 1 020 Kreuzungen der Arten ")
    assert roads.endswith(" stehen dafür, bis zu 2 km vom Korridor.")
    assert GERMAN(
        "The corridor's CRS, WGS 84 (EPSG:4326), is geographic (degrees, not metres): everything is "
        "reprojected to WGS 84 / UTM zone 32N (EPSG:32632)."
    ) == (
        "Das Koordinatensystem des Korridors, WGS 84 (EPSG:4326), ist geographisch (Grad, nicht Meter): "
        "alles wird nach WGS 84 / UTM zone 32N (EPSG:32632) umgerechnet."
    )
    assert GERMAN("OpenStreetMap has no ground cover for 96.0 % of the corridor: taken as unknown.") == (
        "OpenStreetMap hat keine Bodenbedeckung für 96,0 %: der Korridor; als unbekannt angenommen."
    )


@pytest.mark.parametrize("language", OTHERS)
def test_every_check_has_a_name(language):
    """The report lists checks by name beside sentences in the language."""
    sources = [path.read_text(encoding="utf-8") for path in PACKAGE.glob("audit/*.py")]
    checks = {name for source in sources for name in re.findall(r'Limit\(\s*"(\w+)"', source)}
    assert len(checks) > 100  # else the walk finds nothing
    assert checks - set(texts_of(language)["report"]["values"]) == set()


WARNERS = {
    "screen.py": "The frame's ",
    "corridor/drive_reach.py": "Cells of ",
    "corridor/ground.py": "No road that ",
    "corridor/burn_ground.py": "{0} m2 of water",
    "search/warm_drives.py": "At {0} no plan keeps",
    "search/warm_dips.py": "There is no plan without",
    "sites.py": "The compound of ",
}


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize(("module", "begins"), WARNERS.items(), ids=WARNERS)
def test_warnings_made_elsewhere_are_said_too(language, module, begins):
    told = {text for text in sentences_of(PACKAGE / module) if text.startswith(begins)}
    assert told  # else the sentence has another beginning by now
    whole = {text: re.sub(r"\{\d+\}", "7", text) for text in told}
    assert [text for text, filled in whole.items() if speech_of(language).unknown(filled)] == []


def test_warnings_of_cells_and_roads_and_groundwater():
    assert GERMAN(
        "Cells of 10 m are coarse for guided thrust, whose drives are 15 m to 40 m long. "
        "Use a smaller frame.cell_m."
    ).startswith("Zellen von 10 m sind grob für ")
    assert GERMAN("No road that carries plant is known: access roads are taken as 0 m long.") == (
        "Keine Straße, die Baugerät trägt, ist bekannt: Zufahrten sind mit 0 m Länge angesetzt."
    )
    ground = GERMAN(
        "No soil is given anywhere on the route, so sand dense is assumed; no groundwater is given anywhere "
        "on the route, so 3 m below ground is assumed: what passes or is amber only by that counts "
        "as not evaluated, what fails even so as failed."
    )
    assert "kein Grundwasser ist irgendwo auf der Trasse gegeben" in ground
    at = GERMAN(
        "At axis chainage 120 m to 340 m no plan keeps the cables cool enough for 1905 A with the bores at "
        "their distance; it is planned as if they were: put the bores further apart there "
        "(methods.NAME.thermal_spacing_m) or heed the check cable_rating."
    )
    assert at.startswith("Bei Station der Achse 120 m bis 340 m hält kein Plan ")


@pytest.mark.parametrize("language", OTHERS)
def test_every_item_soil_cover_and_kind_of_the_defaults_has_a_word(language):
    defaults, speech = load_assumptions(), speech_of(language)
    named = [*defaults.soil, *defaults.cover, *defaults.treatments]
    named += [method.title for method in defaults.methods.values()]
    named += [season.title for season in defaults.programme.seasons.values()]
    assert [name for name in named if speech.unknown(name.replace("_", " "))] == []


@pytest.mark.parametrize(
    ("english", "german"),
    [
        pytest.param("in open cut", "im offenen Graben", id="a sentence without gaps"),
        pytest.param("a drive of 123.5 m", "ein Vortrieb von 123,5 m", id="number: sign of the decimals"),
        pytest.param("a drive of -0.5 m", "ein Vortrieb von -0,5 m", id="number below zero"),
        pytest.param("about 1 555 877 EUR", "etwa 1 555 877 EUR", id="thousands set apart by a space"),
        pytest.param(
            "no felling from 03-01 to 09-30",
            "kein Gehölzeinschlag vom 01.03. bis 30.09.",
            id="days of the year",
        ),
        pytest.param(
            "open cut of 2.5 m through it, at 80 deg",
            "offener Graben von 2,5 m hindurch, unter 80 Grad",
            id="a part that may be there or not",
        ),
        pytest.param("open cut of 2.5 m through it", "offener Graben von 2,5 m hindurch", id="without it"),
        pytest.param("Smith and Sons", "Smith and Sons", id="a name of more words stays"),
        pytest.param(
            "the trench goes through Oak Lane (road)",
            "der Graben geht durch Oak Lane (Straße)",
            id="a name in a gap stays, its kind is said",
        ),
        pytest.param("", "", id="nothing"),
    ],
)
def test_reading(english, german):
    assert GERMAN(english) == german


def test_sentences_one_after_the_other_are_read_one_by_one():
    said = GERMAN(
        "By guided thrust boring. The pipe strings lie behind its first shaft, in 2 pieces and straight."
    )
    assert said == (
        "Verfahren: gesteuerter Pressvortrieb. "
        "Die Rohrstränge liegen hinter seinem ersten Schacht, in 2 Teilen und gerade."
    )


def test_names_that_are_told_stay_whatever_they_are_made_of():
    names = ["Elm and Oak Lane", "in open cut 5.2", "no felling"]
    say = GERMAN.keeping(names)
    assert (
        say("the trench goes through Elm and Oak Lane (road)")
        == "der Graben geht durch Elm and Oak Lane (Straße)"
    )
    assert say("in open cut 5.2") == "in open cut 5.2"
    assert say("no felling and Elm and Oak Lane") == "no felling und Elm and Oak Lane"
    assert say("in open cut") == "im offenen Graben"


def test_a_number_keeps_its_thousands_apart_by_a_space_and_gets_the_languages_decimal_sign():
    assert speech_of("de")("9 015 874.71") == "9 015 874,71"


def test_no_source_sets_thousands_apart_by_a_comma():
    """A comma stands before decimals in German: only ``counted.grouped`` writes thousands."""
    sources = [path for path in PACKAGE.rglob("*.py") if path.name != "counted.py"]
    assert [path.name for path in sources if re.search(r"\{[^{}\"]*:,[.df}]", path.read_text("utf-8"))] == []


def test_english_is_as_it_is():
    text = "Drive, because no trench is allowed through 1 555.5 (road)"
    assert speech_of(ENGLISH)(text) == text


# Of two gaps without a sign between them the second holds a clause or nothing, never a bare number.
@given(st.sampled_from([sentence for sentence in SENTENCES if "}{" not in sentence]), st.integers(0, 10_000))
def test_a_filled_sentence_is_said_whole_with_all_its_numbers(sentence, first):
    numbers = [f"{first + 1.25 + k:.2f}" for k in range(len(gaps(sentence)))]
    filled = sentence
    for number in numbers:
        filled = re.sub(r"\{\d+\}", number, filled, count=1)
    assert GERMAN.unknown(filled) == 0
    said = GERMAN(filled)
    assert all(number.replace(".", ",") in said for number in numbers)


@given(st.text(max_size=60))
def test_any_text_can_be_read_and_english_keeps_it(text):
    assert isinstance(GERMAN(text), str)
    assert speech_of(ENGLISH)(text) == text


def test_tables_are_said_and_those_handed_in_stay():
    tables = {
        "sections": pd.DataFrame({"corridor_id": ["a"], "reason": ["in open cut"]}),
        "parcels_used": pd.DataFrame({"owner": ["not known", "Not known and Sons"]}),
        "run_record": pd.DataFrame({"key": ["warning 1", "seed"], "value": ["at least", "at least"]}),
        "drives": pd.DataFrame({"reason": [None]}),
    }
    said = spoken(tables, "de")
    assert list(said["sections"]["reason"]) == ["im offenen Graben"]
    assert list(said["parcels_used"]["owner"]) == ["nicht bekannt", "Not known and Sons"]
    assert list(said["run_record"]["value"]) == ["mindestens", "at least"]
    assert list(said["drives"]["reason"]) == [None]
    assert list(tables["sections"]["reason"]) == ["in open cut"]
    assert spoken(tables, ENGLISH)["sections"] is tables["sections"]


def test_a_language_without_a_file_is_refused_with_those_there_are():
    with pytest.raises(AssumptionsError, match="one of de, en"):
        load_assumptions('[report]\nlanguage = "xx"')
