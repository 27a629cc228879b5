"""What the worker can be asked: each question is a function of what it remembers, registered by ``@question``.

They run in the process of :mod:`.worker`, which alone loads what reckons: so they import it when they are asked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Concatenate, Final, ParamSpec, TypeVar

from pitreckon.cook import Cook
from pitreckon.ledger import Ledger, Look
from pitreckon.ledger.store import Following, Store
from pitreckon.plan.read import wishes_from_text
from pitreckon.web.live.asked import Again, Asked
from pitreckon.web.live.giveway import GivesWay
from pitreckon.web.live.lately import Kept, Lately
from pitreckon.web.live.plans import cook_of

if TYPE_CHECKING:
    from pitreckon.flavour.mix import Mix
    from pitreckon.lessons.answers.kept import KeptCard
    from pitreckon.lessons.card.card import Card
    from pitreckon.lessons.diagnosis.report import Report
    from pitreckon.lessons.explain.story import Story
    from pitreckon.lessons.lasttime.worth import Against
    from pitreckon.plan.fuel.earlier import Lessons
    from pitreckon.plan.schedule.cache import OptionCache
    from pitreckon.plan.schedule.replan import Replanned
    from pitreckon.plan.schedule.schedule import Answer, Schedule
    from pitreckon.plan.wishes import Wishes
    from pitreckon.reckon import ItemOutlook, Outlook
    from pitreckon.reckon.forecast import Reckoning
    from pitreckon.reckon.learned import Lessons as HouseLessons
    from pitreckon.reckon.whatif import WhatIf
    from pitreckon.safety.foreseen import Foreseen
    from pitreckon.safety.record.form import SafetyRecord
    from pitreckon.sheets import Reader, Sheet
    from pitreckon.web.live.series import Series
    from pitreckon.web.views.reader import Preferences

P = ParamSpec("P")
T = TypeVar("T")
BEFORE, AFTER = timedelta(hours=12), timedelta(hours=12)
"""A cook is reckoned as of no earlier before its start, and no later after its end, than this."""
EXPLAIN_SINCE: Final = timedelta(hours=1)
MOST_CARDS: Final = 3
"""Kept beside the last one: the readers of a card cook for ten seconds and more."""
MOST_STORIES: Final = 3
"""Kept beside the last one: a story takes ten seconds, and is asked for in another language or as a file."""
MOST_PLANS: Final = 12
"""Plans that cooks follow, of which each is solved once."""
RECORD_MEMBERS: Final = 256


@dataclass
class Memory:
    """What the process keeps from one question to the next.

    tell: says how far it is with this one, in words; gives_way: a stretch that may be left for a more urgent one
    kept: the ensembles of cooks, from which updates, first answers and what-ifs go on
    """

    tell: Callable[[str], None] = lambda _: None
    gives_way: GivesWay = field(default_factory=GivesWay)
    kept: Kept = field(default_factory=Kept)
    following: tuple[str, Following] | None = None
    ledger: tuple[Asked, Cook, Ledger] | None = None
    options: OptionCache | None = None
    lessons: tuple[str, Lessons] = ("", {})
    house: tuple[tuple[str, str, str, str], HouseLessons] | None = None
    taught: tuple[tuple[str, str], HouseLessons | None] = (("", ""), None)
    followed: dict[str, Schedule | None] = field(default_factory=dict)
    cards: dict[tuple[Asked, str], Card] = field(default_factory=dict)
    stories: dict[tuple[Asked, str], Story] = field(default_factory=dict)

    def read(self, asked: Asked) -> tuple[Cook, Ledger]:
        """A cook and its ledger, of which only what is new is read."""
        if self.following is None or self.following[0] != asked.store:
            self.following = (asked.store, Following(Store.open(asked.store)))
        if self.ledger is None or self.ledger[0] != asked:
            self.ledger = (asked, asked.plan(), self.following[1].ledger(asked.cook_id, until_seq=asked.seq))
        return self.ledger[1], self.ledger[2]

    def told(self, asked: Asked) -> HouseLessons | None:
        """What earlier cooks told; None: nothing."""
        from pitreckon.web.live.house import known_before  # noqa: PLC0415

        if not asked.house:
            return None
        which = (asked.store, asked.cook_id, asked.plan_toml, asked.house)
        if self.house is None or self.house[0] != which:
            with Store.open(asked.store) as store:
                self.house = (which, known_before(store, asked.cook_id, asked.plan().begin_utc))
        return self.house[1]

    def wishes(self, text: str, store: str) -> Wishes:
        """A day's wishes, with what the house has learned; the same lessons are one thing from question to question."""
        from pitreckon.ledger.store.house import house_stamp  # noqa: PLC0415
        from pitreckon.web.live.house import known_before  # noqa: PLC0415

        wishes = wishes_from_text(text, "the day")
        if not store:
            return wishes
        with Store.open(store) as opened:
            which = (store, house_stamp(opened, "", wishes.serve_utc))
            if self.taught[0] != which:
                self.taught = (which, known_before(opened, "", wishes.serve_utc) if which[1] else None)
        return replace(wishes, learned=self.taught[1])

    def reckon(self, asked: Asked, again: Again) -> Lately:
        """A cook as of a moment; it is kept for what goes on from it."""
        from pitreckon.reckon.forecast import reckoning  # noqa: PLC0415  numba and the kernel

        if again.since:
            return self.go_on(asked, again, self._base(asked, again)) or self.reckon(asked, replace(again, since=()))
        cook, ledger = self.read(asked)
        now, told = moment_of(cook, ledger, again.now), self.told(asked)
        with self.gives_way:
            done = reckoning(cook, ledger, now=now, members=again.members, seed=asked.seed, lessons=told)
        return self.kept.keep(Lately.whole(asked, again, done))

    def go_on(self, asked: Asked, again: Again, last: Lately, *, run: bool = True) -> Lately | None:
        """The same from the last one, of which only what has changed is run; None: it wants a whole one.

        run: False: nothing is run; it is kept only if nothing had to be
        """
        from pitreckon.reckon.onward import onward  # noqa: PLC0415  numba and the kernel

        cook, ledger = self.read(asked)
        now = moment_of(cook, ledger, again.now)
        with self.gives_way:
            found = onward(last.base, ledger, now, run=run, lessons=self.told(asked))
        if found is None:
            return None
        moments = (*last.moments, (asked.seq, again.now)) if found.ran else last.moments
        made = Lately(asked, replace(again, since=last.moments), found.reckoning, found.base, moments)
        return made if found.left else self.kept.keep(made)

    def _base(self, asked: Asked, again: Again) -> Lately:
        """What a reckoning goes on from: as it is kept, or made anew, which gives the same to the bit."""
        last = self.kept.before(asked)
        if last is not None and last.moments == again.since:
            return last
        (seq, now), *parts = again.since
        last = self.reckon(replace(asked, seq=seq), Again(now, again.members))
        for seq, now in parts:
            last = self.go_on(replace(asked, seq=seq), Again(now, again.members), last) or last
        return last

    def reckoned(self, asked: Asked, again: Again | None = None) -> Reckoning | None:
        """The last outlook's ensemble, if that was of this cook as it stands.

        again: how it was reckoned; then it is reckoned anew where it is not kept, which gives the same to the bit
        """
        last = self.kept.before(asked)
        if last is not None and last.asked == asked:
            return last.done
        return None if again is None else self.reckon(asked, again).done

    def card(self, asked: Asked, item: str) -> Card:
        """The card of an item of a finished cook. Raises InputError: it is not off the pit"""
        from pitreckon.lessons.card.card import card_of  # noqa: PLC0415  numba and the kernel
        from pitreckon.lessons.card.finished import finished_item  # noqa: PLC0415

        card = self.cards.get((asked, item))
        if card is None:
            card = card_of(finished_item(asked.plan(), asked.whole_ledger(), item), seed=asked.seed, tell=self.tell)
            self.cards = {**dict(list(self.cards.items())[-MOST_CARDS:]), (asked, item): card}
        return card


Question = Callable[Concatenate[Memory, P], T]
QUESTIONS: Final[dict[str, Callable[..., Any]]] = {}
"""All of them, by their names."""


def question(function: Question[P, T]) -> Question[P, T]:
    """Register a question. What goes in and what comes out are sent between processes; a kept answer's are hashable."""
    QUESTIONS[function.__name__] = function
    return function


@dataclass(frozen=True, slots=True)
class Reckoned:
    """The answer to ``reckoned_now``. earlier: how many cooks before it have told something; said: so have people

    again: how it was reckoned
    """

    outlook: Outlook
    series: tuple[Series, ...]
    again: Again
    earlier: int = 0
    said: bool = False


@dataclass(frozen=True, slots=True)
class CardPaper:
    """The answer to ``recipe_card``: the sheet, the same as JSON-LD, and its numbers."""

    sheet: Sheet
    jsonld: dict[str, Any]
    document: dict[str, Any]


def moment_of(cook: Cook, ledger: Ledger, now: datetime) -> datetime:
    """As of when a cook is reckoned: now, but no earlier than half a day before it and no later than half a day after.

    So a cook of last month shows how it ended, and one of next week what is planned.
    """
    ends = [cook.start_utc, *(at for at in (cook.serve_utc, ledger.last_utc) if at is not None)]
    begins = [cook.start_utc, *(at for at in (ledger.first_utc,) if at is not None)]
    return min(max(now, min(begins) - BEFORE), max(ends) + AFTER)


# --- of the cook that is going on


@question
def reckoned_now(memory: Memory, asked: Asked, now: datetime, members: int) -> Reckoned:
    """The outlook, from the last one where that is kept and not old."""
    again, last = Again(now, members), memory.kept.before(asked)
    found = None
    if last is not None and last.again.members == members:
        found = memory.go_on(asked, again, last)
    return _told_of(memory, found or memory.reckon(asked, again))


@question
def answered_first(memory: Memory, asked: Asked, now: datetime) -> Reckoned | None:
    """An outlook at once, from the members of the last one; None: there is none of this cook, or an act came in.

    It says itself whether a better one is to follow.
    """
    last = memory.kept.before(asked)
    if last is None:
        return None
    found = memory.go_on(asked, Again(now, last.again.members), last, run=False)
    return None if found is None else _told_of(memory, found)


def _told_of(memory: Memory, found: Lately) -> Reckoned:
    from pitreckon.web.live.house import cooks_in  # noqa: PLC0415
    from pitreckon.web.live.noton import with_put_ons  # noqa: PLC0415
    from pitreckon.web.live.series import series_of  # noqa: PLC0415

    lessons, done = memory.told(found.asked), found.done
    outlook = with_put_ons(done.outlook, *memory.read(found.asked))
    if lessons is None:
        return Reckoned(outlook, series_of(done), found.again)
    said = any(each.was_said for each in lessons.used)
    return Reckoned(outlook, series_of(done), found.again, cooks_in(lessons), said)


@question
def answered_if(memory: Memory, asked: Asked, now: datetime, look: Look) -> tuple[ItemOutlook, ItemOutlook] | None:
    """An item as the last outlook has it, and as it would be with one more look; None: as for ``answered_first``."""
    from pitreckon.reckon.onward import onward  # noqa: PLC0415

    last = memory.kept.before(asked)
    if last is None or last.asked != asked:
        return None
    cook, ledger = memory.read(asked)
    now = max(moment_of(cook, ledger, now), last.done.outlook.now_utc, look.at_utc)
    told = memory.told(asked)
    both = (ledger, Ledger.of([*ledger.events, look]))
    without, with_it = [onward(last.base, each, now, run=False, lessons=told) for each in both]
    if without is None or with_it is None:
        return None
    return without.reckoning.outlook.item(look.on), with_it.reckoning.outlook.item(look.on)


@question
def supposed(memory: Memory, asked: Asked, members: int, again: Again | None = None) -> tuple[WhatIf, ...] | None:
    """What could be done, going on from the last outlook; None: that is not kept, or was of this cook before.

    again: how that was reckoned, so that whoever does not have it makes it anew
    """
    from pitreckon.reckon.whatif import what_ifs  # noqa: PLC0415

    done = memory.reckoned(asked, again)
    with memory.gives_way:
        return None if done is None else what_ifs(done, members=members)


@question
def explained(memory: Memory, asked: Asked, now: datetime, members: int, *, celsius: bool) -> tuple[str, ...]:
    """What has moved the forecast in the last hour; in words with degC or degF."""
    from pitreckon.reckon.explain import explain  # noqa: PLC0415

    cook, ledger = memory.read(asked)
    since = max(now - EXPLAIN_SINCE, cook.start_utc)
    if since >= now or not len(ledger.until(now)):
        return ()
    told, seed = memory.told(asked), asked.seed
    with memory.gives_way:
        changes, _ = explain(
            *(cook, ledger, since, ledger, now), members=members, seed=seed, celsius=celsius, lessons=told
        )
    return tuple(change.line for change in changes)


@question
def rules_foreseen(memory: Memory, asked: Asked, again: Again | None = None) -> tuple[Foreseen, ...] | None:
    """Which safety rules may be missed, going on from the last outlook; None and again: as for ``supposed``."""
    from pitreckon.safety.forecast import foresee  # noqa: PLC0415
    from pitreckon.safety.record.kept import Kept, handled_in  # noqa: PLC0415

    done = memory.reckoned(asked, again)
    if done is None:
        return None
    with Store.open(asked.store) as store:
        said = handled_in(Kept(meat=tuple(store.meat_said(asked.cook_id))))
    labels = {item.label for item in done.cook.items}
    handled = {label: each for label, each in said.items() if label in labels}
    with memory.gives_way:
        return foresee(done, handled)


@question
def replanned(memory: Memory, asked: Asked, text: str, again: Again | None = None) -> Replanned | None:
    """The best rest of a day that was planned, going on from the last outlook; None and again: as for ``supposed``.

    text: its wishes
    """
    from pitreckon.plan.schedule.replan import replan  # noqa: PLC0415

    done = memory.reckoned(asked, again)
    if done is None:
        return None
    if text not in memory.followed:  # it is the same from look to look, and takes seconds for many items
        answer = planned(memory, text, "", asked.store)
        best = None if answer is None else answer.best
        memory.followed = {**dict(list(memory.followed.items())[1 - MOST_PLANS :]), text: best}
    before = memory.followed[text]
    with memory.gives_way:
        return None if before is None else replan(memory.wishes(text, asked.store), before, done)


@question
def taught(memory: Memory, asked: Asked) -> tuple[datetime, str]:
    """What a finished cook taught, as a file of lessons, and when it was at its end.

    Raises InputError: nothing is recorded of it
    """
    from pitreckon.lessons.house.form import text_of_lessons  # noqa: PLC0415
    from pitreckon.reckon.learned import Lessons as HouseLessons  # noqa: PLC0415
    from pitreckon.reckon.learning import learn  # noqa: PLC0415  numba and the kernel

    cook, ledger = memory.read(asked)
    told = learn(cook, ledger, asked.cook_id, seed=asked.seed)
    assert ledger.last_utc is not None  # else it was refused
    return ledger.last_utc, text_of_lessons(HouseLessons().plus(told))


# --- of what is planned and written up


@question
def planned(memory: Memory, text: str, change: str, store: str) -> Answer | None:
    """The best day.

    text: a cook file with wishes; change: to them, by its key; "": none, then it is also said why a day cannot be done
    store: whose earlier cooks tell what the pits burn and how they cook; "": none
    """
    from pitreckon.plan.schedule.solve import plan  # noqa: PLC0415  the kernel, and OR-Tools when it solves
    from pitreckon.plan.schedule.variants import variant  # noqa: PLC0415

    wishes = memory.wishes(text, store)
    if change:
        changed = variant(wishes, change)
        if changed is None:
            return None
        wishes = changed.wishes
    if store and (not change or memory.lessons[0] != text):  # for a change, what was learned for the day itself
        memory.lessons = (text, _lessons(store, wishes))
    memory.options = memory.options or _counting(memory)
    if not change:
        ways = _ways(wishes)
        memory.tell(f"running {ways} way{'s' if ways != 1 else ''} to cook it")
    return plan(wishes, cache=memory.options, explain=not change, lessons=memory.lessons[1] if store else {})


def _ways(wishes: Wishes) -> int:
    """How many ways of cooking there are to run, of all meats together."""
    from pitreckon.plan.buying.amounts import amounts_of  # noqa: PLC0415
    from pitreckon.plan.schedule.scenarios import cases_of  # noqa: PLC0415

    return sum(len(each) for each in cases_of(wishes, amounts_of(wishes)))


def _counting(memory: Memory) -> OptionCache:
    """Options that are kept for the next question, and tell how far the planning is by what is put there."""
    from pitreckon.plan.schedule.cache import OptionCache, Options  # noqa: PLC0415

    class Counting(OptionCache):
        def of(self, wishes: Wishes, seed: int, members: int) -> tuple[Options, Options]:
            chosen, unseen = super().of(wishes, seed, members)
            if chosen:  # the ways were run: a choice is made among them, then tried
                memory.tell("choosing, and trying the choice on meat and fires that it has not seen")
            return chosen, unseen

    return Counting()


def _lessons(store: str, wishes: Wishes) -> Lessons:
    from pitreckon.plan.fuel.earlier import earlier_in, lessons_of  # noqa: PLC0415

    with Store.open(store) as opened:
        return lessons_of(wishes, earlier_in(opened, wishes))


@question
def safety_record(memory: Memory, asked: Asked, now: datetime, signed: str, house: str) -> SafetyRecord:
    """The safety record of a cook as of a moment, over its whole ledger. signed: by whom; house: its public key"""
    from pitreckon.reckon.forecast import reckoning  # noqa: PLC0415  numba and the kernel
    from pitreckon.safety.record.kept import kept_of  # noqa: PLC0415
    from pitreckon.safety.record.make import record_of  # noqa: PLC0415

    with Store.open(asked.store) as store:
        kept, ledger = kept_of(store, asked.cook_id, asked.seq), store.ledger(asked.cook_id, asked.seq)
    cook = asked.plan()

    def tell(labels: str) -> None:
        memory.tell(f"reckoning {labels}, {RECORD_MEMBERS} times each")

    moment = moment_of(cook, ledger, now)
    done = reckoning(cook, ledger, now=moment, members=RECORD_MEMBERS, seed=asked.seed, progress=tell)
    memory.tell("holding every piece against each rule")
    return record_of(done, asked.plan_toml, ledger, kept=kept, signed_by=signed, house=house)


@question
def recipe_card(
    memory: Memory,
    asked: Asked,
    item: str,
    mixes: tuple[Mix, ...],
    pieces: int | None,
    serves: int | None,
    rules: str,
    reader: Reader,
    earlier: tuple[tuple[Asked, str], ...] = (),
    said: tuple[str, ...] = (),
) -> CardPaper:
    """The recipe card of an item of a finished cook.

    mixes: that were on it; pieces, serves: for the reader, None: as it was; rules: of allergens; reader: how it is read
    earlier: cooks of the house with their items of the same cut; said: how it was, by those who ate
    """
    from pitreckon.lessons.card.finished import finished_item  # noqa: PLC0415
    from pitreckon.sheets.documents.recipe import recipe_of  # noqa: PLC0415
    from pitreckon.sheets.documents.recipecard import recipe_sheet  # noqa: PLC0415
    from pitreckon.sheets.writers.jsonld import recipe_document, recipe_jsonld  # noqa: PLC0415

    card = memory.card(asked, item)
    before = [finished_item(each.plan(), each.whole_ledger(), label) for each, label in earlier]
    recipe = recipe_of(card, mixes, pieces=pieces, serves=serves, rules=rules, earlier=before, said=said)
    return CardPaper(recipe_sheet(recipe, reader=reader), recipe_jsonld(recipe, reader), recipe_document(recipe))


@dataclass(frozen=True, slots=True)
class AnswersPaper:
    """The answer to ``answers_taken``: the report, its numbers, and the changed card."""

    sheet: Sheet
    document: dict[str, Any]
    changed: KeptCard


@question
def card_kept(memory: Memory, asked: Asked, item: str) -> KeptCard:
    """The card of an item as its answers are taken in with it. Raises InputError: it is not off the pit"""
    from pitreckon.lessons.answers.kept import kept_card  # noqa: PLC0415

    return kept_card(memory.card(asked, item))


@question
def answers_taken(
    memory: Memory, asked: Asked, item: str, files: tuple[tuple[str, bytes], ...], reader: Reader
) -> AnswersPaper:
    """What the answers to a card come to.

    Raises InputError: the item is not off the pit, or too few answers can be counted
    """
    from pitreckon.lessons.answers.folder import take_in  # noqa: PLC0415
    from pitreckon.lessons.answers.kept import kept_card  # noqa: PLC0415
    from pitreckon.lessons.answers.outcome import outcome_of  # noqa: PLC0415
    from pitreckon.sheets.documents.answersheet import answer_sheet, answers_document  # noqa: PLC0415

    kept = kept_card(memory.card(asked, item))
    outcome = outcome_of(kept, take_in(files, kept), asked.seed, tell=memory.tell)
    return AnswersPaper(answer_sheet(outcome, reader=reader), answers_document(outcome), outcome.again.card)


@question
def held_against(memory: Memory, this: Asked, item: str, last: Asked, last_item: str) -> Against:
    """This time against last time: an item of one cook and of another, of one cut.

    Raises InputError: one is not off the pit, or they are of different cuts
    """
    from pitreckon.lessons.lasttime.run import run_of  # noqa: PLC0415  numba and the kernel
    from pitreckon.lessons.lasttime.worth import against  # noqa: PLC0415

    both = [run_of(asked.plan(), asked.whole_ledger(), label) for asked, label in ((this, item), (last, last_item))]
    memory.tell("cooking last time's again, with one thing otherwise each")
    return against(*both, seed=this.seed)


@dataclass(frozen=True, slots=True)
class StoryPaper:
    """The answer to ``cook_story``: the sheet in its reader's words; drawn: False: nothing is there that draws."""

    sheet: Sheet
    drawn: bool


@question
def cook_story(memory: Memory, asked: Asked, item: str, preferences: Preferences) -> StoryPaper:
    """The story of an item of a finished cook, in one person's words and degrees.

    Raises InputError: it is not off the pit
    """
    from pitreckon.lessons.explain.story import story_of  # noqa: PLC0415  numba and the kernel
    from pitreckon.sheets.documents.story import story_sheet  # noqa: PLC0415
    from pitreckon.sheets.reader import Reader  # noqa: PLC0415

    cook = asked.plan()
    story = memory.stories.get((asked, item))
    if story is None:
        story = story_of(cook, asked.whole_ledger(), item, seed=asked.seed, tell=memory.tell)
        memory.stories = {**dict(list(memory.stories.items())[-MOST_STORIES:]), (asked, item): story}
    plain = Reader(cook.zone, preferences.degrees, preferences.mass, preferences.hands == "12")
    say = preferences.say
    reader = plain if say.language == "en" else replace(plain, say=say.found)
    drawn = find_spec("matplotlib") is not None
    return StoryPaper(replace(story_sheet(story, reader, drawn=drawn), reader=plain), drawn)


@question
def on_the_meat(memory: Memory, plan_toml: str, item: str, mix: Mix, want: str) -> tuple[str, ...]:
    """What heat does to a mix on an item of a cook. want: changes to the mix"""
    from pitreckon.flavour.heat.meatwords import on_the_meat as words_of  # noqa: PLC0415  the kernel
    from pitreckon.web.views.mix import changed_batch  # noqa: PLC0415

    return tuple(words_of(changed_batch(mix, want), cook_of(plan_toml), item)[1])


@question
def likeliest_causes(memory: Memory, report: Report) -> dict[str, Any]:
    """The likeliest causes of a reader's report."""
    from pitreckon.lessons.diagnosis.diagnose import document_of, why  # noqa: PLC0415  the kernel

    return document_of(why(report))
