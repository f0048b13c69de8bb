"""Tables spoilt in every way hypothesis thinks of: a table and its hull, or one of scrieve's own errors, soon."""

import time
import warnings

from conftest import SAMPLES
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import scrieve

SANDLING = (SAMPLES / "sandling.offsets").read_text()
PRINTED = (SAMPLES / "stephens-1889-plate-11.csv").read_text()
MAPPING = (SAMPLES / "stephens-1889-plate-11.toml").read_text()

# A person at the keyboard takes a wait longer than this for a hang; the samples take a tenth of a second.
PATIENCE_S = 10.0

# What stands in a spoilt table for a word of it: readings at and past every bound, marks, and what is no reading.
WORDS = st.sampled_from(
    "- x ! ? 0 1-6 0-0-0 -0-0-1 0-11-7 0-12-0 0-0-8 99999999-0-0 999999999999999999999 1e308 1e-308m nan inf -inf "
    "0.0mm 1mm 3-4-5½ 3-4-5+? 1.5in 1031.9mm ½ ⁵ | || [ ] [heights] [half-breadths] [points] [stem&profile] # = "
    '" +++ T station sheer rabbet keel chine waterline buttock \u200b \u00a0 \ufeff \r \0 é 船 1/0 1:0 0:1'.replace(
        " ", "\n"
    )
    .replace("&", " ")
    .split("\n")
)

settings.register_profile("hostile", deadline=None, suppress_health_check=list(HealthCheck))
examples = settings(settings.get_profile("hostile"), max_examples=120)


@st.composite
def spoilt(draw, text):
    """The text with up to three of its words or lines replaced, doubled, dropped or swapped."""
    lines = text.split("\n")
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(["word", "word", "word", "cut", "drop", "double", "swap", "anything"])):
            case "word":
                words = lines[at].split(" ")
                filled = [i for i, word in enumerate(words) if word]
                if filled:
                    words[draw(st.sampled_from(filled))] = draw(WORDS)
                    lines[at] = " ".join(words)
            case "cut":
                lines[at] = lines[at][: draw(st.integers(0, len(lines[at])))]
            case "drop":
                lines[at] = ""
            case "double":
                lines.insert(at, lines[at])
            case "swap":
                other = draw(st.integers(0, len(lines) - 1))
                lines[at], lines[other] = lines[other], lines[at]
            case "anything":
                lines[at] = draw(st.text(max_size=30))
    return "\n".join(lines)


def in_good_time(work, text):
    """What `work` gives, or None where it refuses with an error of scrieve's own; anything else is a failure."""
    start = time.process_time()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return work()
    except ValueError as error:
        assert type(error).__module__.startswith("scrieve"), repr(error)
        assert str(error).strip(), "an error that says nothing"
        return None
    finally:
        took = time.process_time() - start
        assert took < PATIENCE_S, f"{took:.1f} s for:\n{text}"


@examples
@given(spoilt(SANDLING))
def test_a_spoilt_table_is_read_to_the_letter_and_faired_or_refused(text):
    table = in_good_time(lambda: scrieve.Table.from_text(text, "spoilt.offsets"), text)
    if table is None:
        return
    assert table.to_text() == text.removeprefix("\ufeff")
    hull = in_good_time(table.fair, text)
    assert table.to_text() == text.removeprefix("\ufeff")
    if hull is not None:
        in_good_time(hull.moulds, text)
        in_good_time(hull.table, text)
        in_good_time(lambda: hull.corrections(), text)


@examples
@given(st.sampled_from(["1", "6", "T", "99"]), st.sampled_from(["sheer", "heights sheer", "A", "nothing"]), st.data())
def test_a_reading_put_in_is_there_afterwards_or_refused(sandling, station, row, data):
    written = data.draw(WORDS | st.text(max_size=12))
    edited = in_good_time(lambda: sandling.with_reading(station, row, written), written)
    if edited is not None:
        again = scrieve.Table.from_text(edited.to_text())
        assert again.to_text() == edited.to_text()
        assert str(again.reading(station, row) or "-") == str(edited.reading(station, row) or "-")
    assert sandling.to_text() == SANDLING


@examples
@given(spoilt(PRINTED), st.just(MAPPING) | spoilt(MAPPING))
def test_a_spoilt_printed_table_or_mapping_is_read_or_refused(tmp_path_factory, text, mapping):
    folder = tmp_path_factory.getbasetemp()
    (folder / "printed.csv").write_text(text, newline="")
    (folder / "printed.toml").write_text(mapping, newline="")
    table = in_good_time(lambda: scrieve.read(folder / "printed.csv"), text)
    if table is not None:
        in_good_time(table.fair, text)


@examples
@given(st.binary(max_size=400) | st.text(max_size=200).map(str.encode))
def test_any_bytes_are_refused_or_read(data):
    in_good_time(lambda: scrieve.Table.from_text(data), data)
