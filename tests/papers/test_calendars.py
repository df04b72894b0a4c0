from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from icalendar import Calendar, Event

from papers.trial_papers import sound
from wintersward.papers.calendars import trial_calendar
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant


def events(content: bytes) -> list[Event]:
    return list(Calendar.from_ical(content).walk("VEVENT"))


def titles(content: bytes) -> dict[str, str]:
    return {
        str(one["summary"]).partition(":")[0]: one["dtstart"].dt.isoformat()
        for one in events(content)
    }


def unfolded(content: bytes) -> str:
    return content.replace(b"\r\n ", b"").decode("utf-8").replace("\\,", ",").replace("\\;", ";")


@pytest.fixture(scope="module")
def content(definition: Definition, plots: pd.DataFrame) -> bytes:
    return trial_calendar(definition, plots)


@pytest.fixture(scope="module")
def worded(plots: pd.DataFrame) -> bytes:
    """Make a calendar whose words need escapes and more than one byte a letter."""
    definition = sound("site", name="Rasenplatz Süßmühle; Nord, „Öschwiese“ – groß und klein")
    notice = "Ünïcode · " * 30 + "\\ end"
    return trial_calendar(definition.model_copy(update={"notice": notice}), plots)


class TestDays:
    def test_every_date_of_the_definition_is_there(self, content: bytes) -> None:
        assert titles(content) == {
            "Baseline visit": "2026-01-15",
            "Covers on": "2026-01-19",
            "Covers off": "2026-03-09",
            "Visit 1 of 5": "2026-03-10",
            "Visit 2 of 5": "2026-03-16",
            "Visit 3 of 5": "2026-03-24",
            "Aeration": "2026-03-25",
            "Visit 4 of 5": "2026-04-04",
            "Visit 5 of 5": "2026-04-17",
            "First event": "2026-04-18",
        }

    def test_all_of_them_last_the_whole_day(self, content: bytes) -> None:
        for one in events(content):
            start, end = one["dtstart"].dt, one["dtend"].dt
            assert not isinstance(start, dt.datetime)
            # RFC 5545, 3.6.1: the end is not part of the event.
            assert end - start == dt.timedelta(days=1)

    def test_a_visit_tells_what_is_measured_and_what_to_bring(self, content: bytes) -> None:
        told = {
            str(one["summary"]).partition(":")[0]: str(one["description"])
            for one in events(content)
        }
        assert "green cover (photos)" in told["Visit 3 of 5"]
        assert "colour rating (1–9, by te and rx, each alone)" in told["Visit 3 of 5"]
        assert "pull force (lbf, 3 per plot)" in told["Visit 3 of 5"]
        assert "instrument for pull force" in told["Visit 3 of 5"]
        assert "36 plots in walking order, from plot 101." in told["Visit 3 of 5"]
        assert "pull force" not in told["Visit 2 of 5"]
        assert "map for raters" in told["Visit 2 of 5"]
        assert "pin count" in told["Covers on"]
        assert "eye and foot protection" in told["Aeration"]
        assert "person responsible" in told["First event"]

    def test_quadrat_and_what_harms_the_turf(self, plots: pd.DataFrame) -> None:
        framed = sound("green_cover", quadrat=["2 ft", "3 ft"])
        assert "quadrat of 2 ft by 3 ft" in unfolded(trial_calendar(framed, plots))
        cut = unfolded(trial_calendar(sound("pull_force", destructive=True), plots))
        assert "pull force (lbf, 3 per plot, last of all, since it harms the turf)" in cut

    def test_days_that_stand_by_a_measure_alone(self, plots: pd.DataFrame) -> None:
        own = sound("pull_force", dates=["2026-03-25", "2026-04-20"])
        found = [
            (str(one["summary"]).partition(":")[0], str(one["dtstart"].dt))
            for one in events(trial_calendar(own, plots))
        ]
        assert ("Observations", "2026-03-25") in found
        assert ("Observations", "2026-04-20") in found
        assert len(found) == 12

    def test_a_treatment_s_own_day(self, definition: Definition, plots: pd.DataFrame) -> None:
        def applied(day: dt.date, **dates: object) -> dict[str, str]:
            held = definition.treatments["aeration"].model_copy(update={"applied": day})
            both = definition.treatments | {"aeration": held}
            named = {n: d for n, d in definition.dates.items() if n != "aeration"} | dates
            changed = definition.model_copy(update={"treatments": both, "dates": named})
            return titles(trial_calendar(changed, plots))

        day = dt.date(2026, 3, 26)
        assert applied(day)["Work on the plots"] == "2026-03-26"
        # A date with a name of its own is told once.
        assert "Work on the plots" not in applied(day, coring=day)
        assert applied(day, coring=day)["Coring"] == "2026-03-26"

    def test_aeration_that_is_no_treatment_is_alike_everywhere(
        self, definition: Definition, plots: pd.DataFrame
    ) -> None:
        covers = {"cover": definition.treatments["cover"]}
        alone = definition.model_copy(update={"treatments": covers})
        assert "All plots are aerated alike." in unfolded(trial_calendar(alone, plots))


class TestReminder:
    def test_nine_in_the_morning_of_the_day_before(self, content: bytes) -> None:
        for one in events(content):
            (alarm,) = one.walk("VALARM")
            at = dt.datetime.combine(one["dtstart"].dt, dt.time()) + alarm["trigger"].dt
            assert at.date() == one["dtstart"].dt - dt.timedelta(days=1)
            assert at.time() == dt.time(9)
            # RFC 5545, 3.6.6: an alarm that is displayed has a description.
            assert alarm["action"] == "DISPLAY"
            assert str(alarm["description"]).startswith("Tomorrow: ")


class TestIdentity:
    def test_the_same_bytes_every_time(
        self, content: bytes, definition: Definition, plots: pd.DataFrame
    ) -> None:
        assert content == trial_calendar(definition, plots)

    def test_the_stamp_is_the_first_date_of_the_definition(
        self, content: bytes, definition: Definition
    ) -> None:
        first = dates_meant(definition.dates, list(definition.dates))[0]
        stamps = {one["dtstamp"].dt for one in events(content)}
        assert stamps == {dt.datetime.combine(first, dt.time(), dt.UTC)}

    def test_every_event_has_its_own_name(self, content: bytes) -> None:
        names = [str(one["uid"]) for one in events(content)]
        assert len(set(names)) == len(names) == 10

    def test_a_date_that_moves_stays_the_same_event(
        self, content: bytes, definition: Definition, plots: pd.DataFrame
    ) -> None:
        dates = definition.dates | {"aeration": dt.date(2026, 3, 27)}
        moved = trial_calendar(definition.model_copy(update={"dates": dates}), plots)
        before, after = (
            {str(one["uid"]): one["dtstart"].dt for one in events(made)}
            for made in (content, moved)
        )
        assert before.keys() == after.keys()
        changed = {before[uid]: after[uid] for uid in before if before[uid] != after[uid]}
        assert changed == {dt.date(2026, 3, 25): dt.date(2026, 3, 27)}

    def test_covers_that_come_off_on_the_day_of_a_visit_change_no_other_event(
        self, content: bytes, definition: Definition, plots: pd.DataFrame
    ) -> None:
        dates = definition.dates | {"covers_off": dt.date(2026, 3, 10)}
        moved = trial_calendar(definition.model_copy(update={"dates": dates}), plots)
        before, after = (
            {str(one["uid"]): one["dtstart"].dt for one in events(made)}
            for made in (content, moved)
        )
        assert before.keys() == after.keys()
        changed = [(before[uid], after[uid]) for uid in before if before[uid] != after[uid]]
        assert changed == [(dt.date(2026, 3, 9), dt.date(2026, 3, 10))]

    @pytest.mark.parametrize(("name", "days"), [("covers_off", -1), ("aeration", 1)])
    def test_no_other_event_changes_when_a_day_of_work_with_readings_moves(
        self, plots: pd.DataFrame, name: str, days: int
    ) -> None:
        # Readings on a day of work, by its name, and on a day that has no name.
        own = sound("pull_force", dates=["aeration", "covers_off", "2026-04-20"])
        old = own.dates[name]
        assert isinstance(old, dt.date)
        new = old + dt.timedelta(days)
        moved = own.model_copy(update={"dates": own.dates | {name: new}})
        before, after = (
            {str(one["uid"]): one["dtstart"].dt for one in events(trial_calendar(made, plots))}
            for made in (own, moved)
        )
        assert before.keys() == after.keys()
        changed = [(before[uid], after[uid]) for uid in before if before[uid] != after[uid]]
        # The work, and the readings of the same day.
        assert changed == [(old, new)] * 2

    def test_a_bare_day_that_moves_stays_the_same_event(self, plots: pd.DataFrame) -> None:
        before, after = (
            {
                str(one["uid"]): one["dtstart"].dt.isoformat()
                for one in events(trial_calendar(sound("pull_force", dates=days), plots))
            }
            for days in (["2026-04-20", "2026-04-27"], ["2026-04-21", "2026-04-27"])
        )
        assert before.keys() == after.keys()
        changed = [(before[uid], after[uid]) for uid in before if before[uid] != after[uid]]
        assert changed == [("2026-04-20", "2026-04-21")]

    def test_two_studies_share_no_event(
        self, content: bytes, definition: Definition, plots: pd.DataFrame
    ) -> None:
        layout = definition.layout.model_copy(update={"seed": 1})
        other = trial_calendar(definition.model_copy(update={"layout": layout}), plots)
        names = [{str(one["uid"]) for one in events(made)} for made in (content, other)]
        assert names[0].isdisjoint(names[1])


class TestStandard:
    """RFC 5545, Internet Calendaring and Scheduling Core Object Specification."""

    @pytest.mark.parametrize("which", ["content", "worded"])
    def test_lines(self, request: pytest.FixtureRequest, which: str) -> None:
        made = request.getfixturevalue(which)
        # 3.1: lines end with CR LF and hold at most 75 octets without it.
        assert made.endswith(b"END:VCALENDAR\r\n")
        lines = made.split(b"\r\n")
        assert all(b"\n" not in line and b"\r" not in line for line in lines)
        assert max(len(line) for line in lines) <= 75
        assert any(line.startswith(b" ") for line in lines)

    def test_what_must_be_there(self, content: bytes) -> None:
        calendar = Calendar.from_ical(content)
        # 3.6: PRODID and VERSION once; 3.6.1: UID, DTSTAMP and, without METHOD, DTSTART once.
        assert calendar["version"] == "2.0"
        assert str(calendar["prodid"]).startswith("-//wintersward//")
        assert "method" not in calendar
        for one in events(content):
            assert {"UID", "DTSTAMP", "DTSTART", "SUMMARY"} <= set(one)
            assert not isinstance(one["uid"], list)

    def test_words_come_back_as_they_were(self, worded: bytes) -> None:
        one = events(worded)[0]
        assert str(one["location"]) == "Rasenplatz Süßmühle; Nord, „Öschwiese“ – groß und klein"
        assert str(one["description"]).endswith("Ünïcode · \\ end")
        # 3.3.11: comma, semicolon, backslash and line break are escaped in a text.
        assert "Süßmühle\\; Nord\\, " in worded.replace(b"\r\n ", b"").decode("utf-8")

    def test_a_name_in_two_lines_with_signs_of_the_format(self, plots: pd.DataFrame) -> None:
        made = trial_calendar(sound("site", name="Alder Road\nNorth; ground, east"), plots)
        lines = made.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")
        # RFC 5545, 3.3.11, for texts, and RFC 7986, 5.1, for the name of a calendar.
        assert "LOCATION:Alder Road\\nNorth\\; ground\\, east" in lines
        (name,) = (line for line in lines if line.startswith("NAME:"))
        assert name.startswith("NAME:Trial at Alder Road North\\; ground\\, east\\, ")
        assert all(":" in line and "\n" not in line for line in lines if line)
        for one in events(made):
            assert str(one["location"]) == "Alder Road\nNorth; ground, east"
            assert str(one["summary"]).endswith(": Alder Road\nNorth; ground, east")


def test_raters_may_read_it(content: bytes, definition: Definition, plots: pd.DataFrame) -> None:
    dealt_otherwise = plots.assign(
        cover=plots["cover"].to_numpy()[::-1], aeration=plots["aeration"].to_numpy()[::-1]
    )
    assert content == trial_calendar(definition, dealt_otherwise)
    told = unfolded(content).lower()
    for factor in definition.treatments.values():
        for name, level in factor.levels.items():
            assert name not in told.replace("opened", "")
            assert level.label.lower() not in told
