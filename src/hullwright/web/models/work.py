"""Plans, curves, orders, fan tests, leaks: asked for and answered."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from hullwright.web.models.common import Answer, Caution, Evidence, Given, Name, Percentiles, Sent, Spread

Money = Annotated[float, Field(ge=0, le=1e12)]
Ach50 = Annotated[float, Field(gt=0, le=100)]
Readings = Annotated[str, Field(min_length=1, max_length=2_000_000, description="text of a fan-test file")]


class Fixed(Sent):
    """A decision: these joints by this method, and with what; what is '' is left to the plan."""

    method: Name
    product: Annotated[str, Field(max_length=200)] = ""
    primer: Annotated[str, Field(max_length=200, description="id of a primer, none for without")] = ""
    filler: Annotated[str, Field(max_length=200, description="id of a product, none for without")] = ""


class PlanAsk(Sent):
    """What the plan is asked for; what is left out is as the file states."""

    budget: Money | None = None
    target: Ach50 | None = None
    confidence: Annotated[float, Field(gt=0, lt=1)] | None = None
    quick: bool = Field(default=False, description="own search only, no waiting for the proof")
    fixed: Annotated[dict[str, Fixed], Field(max_length=5000)] = Field(
        default_factory=dict[str, Fixed], description="decisions to try, by run; beside those of the file"
    )


class CurveAsk(Sent):
    """How the curve is asked for."""

    points: Annotated[int, Field(ge=21, le=101)] = 21


class Finding(Sent):
    """One thing that was found while the fan ran."""

    seen: Literal["nothing", "leak", "sealed", "masked"]
    on: Name = Field(description="a joint, run, face or kind")
    kind: Annotated[str, Field(max_length=200)] = ""
    moved_m3_h: float | None = Field(
        default=None, description="change of the fan flow at 50 Pa, positive where it fell"
    )
    spread_m3_h: Annotated[float, Field(gt=0)] | None = None
    minutes: Annotated[float, Field(ge=0)] | None = None
    note: Annotated[str, Field(max_length=2000)] = ""


class FanTestAsk(Sent):
    """Readings of a fan test as text."""

    text: Readings
    format: Literal["yaml", "csv"] = "yaml"
    against: Annotated[list[Annotated[str, Field(max_length=200)]], Field(max_length=20)] = Field(
        default_factory=list[str], description="limits by id, or such as '3 ach50'"
    )
    plot: bool = Field(default=False, description="draw the log-log picture too (SVG)")


class LeaksAsk(Sent):
    """What is known when leaks are asked for."""

    test: Readings | None = Field(
        default=None, description="fan-test file; without it: what the plan expects"
    )
    format: Literal["yaml", "csv"] = "yaml"
    findings: Annotated[list[Finding], Field(max_length=2000)] = Field(default_factory=list[Finding])
    target: Ach50 | None = None


class Progress(Given):
    """How far a search is."""

    value: float
    bound: float
    gap: float
    work: int
    done: int | None = Field(
        default=None, description="steps that are done; none where the work has no steps"
    )
    of: int | None = Field(default=None, description="of how many")
    what: str | None = Field(default=None, description="what is being done, in words")


class Job(Answer):
    """Long work."""

    id: str
    house: str
    kind: Literal["plan", "curve", "prices", "leaks", "hunt", "book"]
    state: Literal["waiting", "running", "done", "failed", "stopped"]
    hash: str = Field(description="hash of the building file that it is for")
    ask: dict[str, Any]
    asked_at: str
    progress: Progress | None
    error: dict[str, Any] | None
    restarted: int = Field(description="how often the service was restarted in the middle of it")


class Jobs(Answer):
    """Long works of a house, the last first."""

    jobs: list[Job]


class PlanBarred(Given):
    """An option that is left out, and why."""

    option: str
    rule: str
    text: str


class Laid(Given):
    """What lies on a run once it is done; none where the method has no such thing, or the plan is of an older version."""

    width_m: float | None = Field(
        default=None, description="along the joint; round a piece: how far it reaches from it"
    )
    wet_um: float | None = Field(default=None, description="wet film aimed at: aim_um before it dries")
    least_um: float | None = Field(default=None, description="least dry film of the product sheet")
    aim_um: float | None = Field(
        default=None, description="dry film aimed at, so that the readings prove the least"
    )
    greatest_um: float | None = Field(default=None, description="greatest dry film of the product sheet")
    least_wet_um: float | None = Field(
        default=None, description="wet film that dries to the least of the product sheet"
    )
    greatest_wet_um: float | None = Field(
        default=None, description="wet film that dries to the greatest of the product sheet"
    )
    readings: float | None = Field(default=None, description="gauge readings to take in a lot")
    gap_m: float | None = Field(default=None, description="gap under it, mean over the run")
    bead_m: float | None = Field(
        default=None, description="diameter of the one round bead that holds what a joint takes"
    )
    lap_m: float | None = Field(default=None, description="lap of one strip of tape on the next")


class PlanRun(Laid):
    """What is done on one run."""

    id: str
    name: str = Field(description="what people call it")
    kind: str
    face: str
    stage: str
    method: str
    product: str
    label: str
    length_m: float | None = None
    count: float | None = None
    money: float
    hours: float
    air_cm2: float
    water_l: float
    why: str
    advice: list[str]
    prepared: list[str]
    fixed: bool
    uses: dict[str, float]
    barred: list[PlanBarred]


class PlanPack(Given):
    """Packs of one product."""

    product: str
    name: str
    count: int
    from_stock: int
    use: float
    lost_overnight: float | None = Field(
        default=None,
        description="of these, what cures in the pack overnight; none in a plan of an older version",
    )
    money: float


class Step(Given):
    """Where the next money goes."""

    run: str
    name: str = Field(description="what people call the run")
    from_: Annotated[str, Field(alias="from")]
    to: str
    money: float
    gain: float


class Plan(Answer):
    """A plan with its proof."""

    hash: str = Field(description="hash of the building file that it was made from")
    job: str
    stale: bool = Field(description="the building file changed since")
    name: str
    currency: str
    mode: Literal["budget", "target"]
    budget: float | None
    spent: float
    hours: float
    objective: float
    bound: float
    gap: float
    proved: bool
    runs: list[PlanRun]
    packs: list[PlanPack]
    ach50: Percentiles
    water_l: Percentiles
    unverified_meetings: int
    next: Step | None
    fixed: dict[str, Any] | None
    target: dict[str, Any] | None


class CurvePoint(Given):
    """Best plan for one budget."""

    budget: float
    spent: float
    objective: float
    bound: float
    ach50: float
    water_l: float


class Decision(Given):
    """One decision of the user and what it costs, lifted alone while all others stand."""

    method: str
    product: str
    primer: str
    filler: str
    face: str
    kind: str
    run: str
    money: float = Field(
        description="by how much the cheapest plan as tight and as dry is cheaper without it"
    )
    ach50: float = Field(
        description="by how much the best plan for the same money is tighter without it: expected ACH50"
    )
    water_l: float
    objective: float


class Curve(Answer):
    """Best result for each amount of money."""

    hash: str
    job: str
    stale: bool
    currency: str
    points: list[CurvePoint]
    next: Step | None


class Prices(Answer):
    """What each decision of the user costs."""

    hash: str
    job: str
    stale: bool
    currency: str
    decisions: list[Decision] = Field(description="in the order of aim.fixed")


class Change(Given):
    """A run that is sealed otherwise than in the plan before; '' where it was not there."""

    run: str
    before: str
    now: str


class Changes(Answer):
    """What the last plan does otherwise than the one before it."""

    job: str
    before: str | None = Field(description="work of the plan before; none where this is the first")
    runs: list[Change]
    money: float
    hours: float
    ach50: float
    water_l: float


class Book(Answer):
    """A book that is written: what is in its file."""

    job: str
    hash: str
    stale: bool
    files: list[str]
    bytes: int


class Slider(Answer):
    """The plan at a budget, from the plans of the curve."""

    hash: str
    budget: float
    spent: float
    hours: float
    objective: float
    ach50: float
    water_l: float
    currency: str
    method: list[str] = Field(description="method of each run, in the order of geometry.runs")
    label: list[int] = Field(description="option of each run: number in labels")
    labels: list[str]
    changed: list[int] = Field(description="numbers of the runs that differ from the plan at hand")


class Option(Laid):
    """An allowed way to seal a run, against the plan at hand."""

    method: str
    product: str
    primer: str = Field(description="id of the primer, none for without")
    filler: str = Field(description="id of what fills the gap, none for without")
    label: str
    prepared: list[str]
    chosen: bool
    money: float = Field(
        description="change of the whole plan's money, whole packs and set-ups counted; 0 for the chosen one"
    )
    hours: float
    air_cm2: float
    water_l: float
    ach50: float = Field(description="change of the expected ACH50")
    advice: list[str]
    breaks: list[str] = Field(description="what stands in the way: meetings known to fail, a whole-face coat")


class Alternatives(Answer):
    """What else could be done on a run."""

    hash: str
    run: str
    kind: str
    face: str
    currency: str
    why: str
    fixed: bool
    options: list[Option]
    barred: list[PlanBarred]


class OrderLine(Given):
    """One line of the order."""

    product: str
    packs: int
    pack_size: float
    p50: float
    p90: float
    left_over: float
    money: float


class Order(Answer):
    """What to buy."""

    hash: str
    stale: bool
    lines: list[OrderLine]
    money: float = Field(description="of all packs")
    hours: float
    currency: str


class Against(Given):
    """Answer to a limit."""

    limit: str
    answer: Literal["met", "not met", "not decided by this test"]
    margin: float | None


class Flag(Given):
    """What is noticed about a test."""

    text: str
    clause: str
    mark: str


class FanTest(Answer):
    """What a fan test says."""

    directions: list[dict[str, Any]]
    mean: dict[str, Any]
    flags: list[Flag]
    against: list[Against]
    plot: str | None = None


class Leak(Given):
    """A joint and its leakage."""

    id: str
    name: str = Field(description="what people call it")
    kind: str
    face: str
    ela_cm2: Spread
    share: float
    chance_first: float
    mended: bool
    evidence: Evidence
    spread_factor: float = Field(
        description="factor each way from the middle one within which 95 % of such joints, units or services lie"
    )
    spread_evidence: Evidence


class Leaks(Answer):
    """Where the leakage is."""

    hash: str
    job: str
    stale: bool
    name: str
    joints: list[Leak]
    other: list[Leak]
    ach50: Percentiles
    tested_ach50: float | None
    surprise: dict[str, Any]
    told_apart: dict[str, Any]


class Visit(Given):
    """One stop of the walk."""

    stop: str
    joints: list[str]
    minutes: float
    clock_minutes: float
    expected_cm2: float
    method: str
    bring: list[str]


class Hunt(Leaks):
    """The walk that finds most leakage per minute."""

    walk: list[Visit]
    fixes: list[dict[str, Any]]
    target: dict[str, Any] | None
    test_day: list[dict[str, Any]]
    take_out_again: list[str]


class Event(Given):
    """One server-sent event of a job: `event: job`, `data:` this."""

    id: str
    state: str
    progress: Progress | None


class DayRun(Given):
    """A run in the order of work."""

    id: str
    kind: str
    label: str
    hours: float
    length_m: float | None = None
    count: float | None = None


class DayMethod(Given):
    """What is done by one method with one product on a face."""

    method: str
    name: str
    product: str
    hours: float = Field(description="person-hours [h], set-up within")
    setup_hours: float
    coat_hours: float = Field(description="of a coat over the whole face, whose joints lie in it")
    prepare: list[str] = Field(description="what comes before it, step by step")
    mind: list[str]
    runs: list[DayRun]


class DayFace(Given):
    """A face in a stage."""

    face: str
    hours: float
    crew_days: float
    not_yet: list[str] = Field(description="what must be signed off first, by the log")
    methods: list[DayMethod]


class DayStage(Given):
    """A stage of the work."""

    stage: str
    hours: float
    crew_days: float
    before: list[str]
    cautions: list[Caution]
    faces: list[DayFace]


class DayCrew(Given):
    """Who works."""

    people: int
    day_hours: float


class Days(Answer):
    """The order of work."""

    hash: str
    job: str
    stale: bool
    name: str
    hours: float
    crew_days: float
    crew: DayCrew
    stages: list[DayStage]
