"""Long works of a service: one after the other, in processes of their own, kept on disk so that a restart loses none."""

from __future__ import annotations

import json
import queue
import shutil
import threading
import uuid
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from hullwright.app.apart import Apart
from hullwright.app.disk import unwritable, without_folders, write_whole
from hullwright.app.heads import head
from hullwright.app.house import House
from hullwright.app.plan_before import plan_today
from hullwright.app.refusals import TooManyError, UnknownError
from hullwright.app.shelf import Place, Shelf
from hullwright.app.worker import Watch, answer
from hullwright.errors import OutputError
from hullwright.store.place import Place as StorePlace
from hullwright.store.place import full

MOST_WAITING: Final = 20
KEPT: Final = 4
"""Finished works of each sort that are kept for a house."""
EXPIRES: Final[Mapping[str, timedelta]] = {"book": timedelta(days=7)}
"""Age after which a finished work of a sort is forgotten: a book is large, and the record moves on."""
BOOK: Final = "book.zip"
HIDDEN: Final = frozenset({"labels"})
"""What is part of a question and no matter of the page."""
OPEN: Final = frozenset({"waiting", "running"})


@dataclass
class Job:
    """One long work.

    Parameters
    ----------
    id, house, kind, state, hash : str
    ask : dict
    asked_at : str
    error : dict or None
    restarted : int
        How often the service was restarted in the middle of it.
    turn : int
        Place among all that was asked, so that a clock which is set back makes no old answer the last one.
    """

    id: str
    house: str
    kind: str
    state: str
    hash: str
    ask: dict[str, Any]
    asked_at: str
    error: dict[str, Any] | None = None
    restarted: int = 0
    turn: int = 0
    progress: dict[str, Any] | None = None
    stop: threading.Event = field(default_factory=threading.Event)

    def stored(self) -> dict[str, Any]:
        """Give what is kept on disk."""
        keys = ("id", "house", "kind", "state", "hash", "ask", "asked_at", "error", "restarted", "turn")
        return {key: getattr(self, key) for key in keys}

    @property
    def order(self) -> tuple[int, str]:
        """When it was asked for, among the others."""
        return self.turn, self.asked_at

    def to_json(self) -> dict[str, Any]:
        """Give the work as it stands."""
        shown = {key: value for key, value in self.ask.items() if key not in HIDDEN}
        error = self.error
        if error is not None:
            error = error | {"problems": [without_folders(one) for one in error["problems"]]}
        more: dict[str, Any] = {"ask": shown, "error": error, "progress": self.progress, "cautions": []}
        return head("job") | self.stored() | more


class Jobs:
    """Queue of long works.

    Parameters
    ----------
    root : Path
        Folder in which they are kept.
    shelf : Shelf
    apart : bool
        In processes of their own; else in the queue's thread.
    store : Path, Address or None
        Log of the houses, which a book needs.
    """

    def __init__(
        self, root: Path, shelf: Shelf, *, apart: bool = True, store: StorePlace | None = None
    ) -> None:
        self.root, self.shelf, self.apart, self.store = root, shelf, apart, store
        self.now: Callable[[], datetime] = lambda: datetime.now(UTC)
        self._jobs: dict[str, Job] = {}
        self._queue: queue.Queue[str | None] = queue.Queue()
        self._lock = threading.RLock()
        self._working: Apart | None = None
        self._closing = False
        self._take_up()
        self._thread = threading.Thread(target=self._serve, name="long work", daemon=True)
        self._thread.start()

    def ask(self, place: Place, kind: str, ask: Mapping[str, Any]) -> Job:
        """Ask for a work; the same question on the same file is not worked out twice, and its answer is the last one then.

        Raises
        ------
        TooManyError
            Where too many works wait.
        """
        text = self.shelf.text(place)
        asked = dict(ask)
        self._expire()
        with self._lock:
            for job in self.of(place.id):
                same = (job.kind, job.hash, job.ask) == (kind, text.hash, asked)
                if (
                    same
                    and job.state in {*OPEN, "done"}
                    and (job.state != "done" or self._path(job, "result").exists())
                ):
                    job.asked_at, job.turn = self.now().isoformat(), self._next_turn()
                    self._keep(job)
                    return job
            if sum(job.state in OPEN for job in self._jobs.values()) >= MOST_WAITING:
                raise TooManyError("too many works wait already", 30.0)
            job = Job(str(uuid.uuid4()), place.id, kind, "waiting", text.hash, asked, self.now().isoformat())
            job.turn = self._next_turn()
            folder = self.root / job.id
            try:
                folder.mkdir(parents=True)
            except OSError as error:
                raise unwritable(folder, error) from error
            try:
                write_whole(folder / "building.yaml", text.text.encode("utf-8"))
                self._keep(job)
            except OutputError:
                shutil.rmtree(folder, ignore_errors=True)  # refused: nothing of it stays on a full disk
                raise
            self._jobs[job.id] = job
            self._queue.put(job.id)
        return job

    def of(self, house: str) -> list[Job]:
        """Give the works of a house, the last first."""
        self._expire()
        with self._lock:
            mine = [job for job in self._jobs.values() if job.house == house]
        return sorted(mine, key=lambda job: job.order, reverse=True)

    def get(self, house: str, name: str) -> Job:
        """Give a work of a house.

        Raises
        ------
        UnknownError
        """
        self._expire()
        job = self._jobs.get(name)
        if job is None or job.house != house:
            raise UnknownError("there is no such work")
        return job

    def stop(self, house: str, name: str) -> Job:
        """Stop a work: a plan keeps the best found so far."""
        job = self.get(house, name)
        with self._lock:
            if job.state == "waiting":
                self._end(job, "stopped")
            elif job.state == "running":
                job.stop.set()
                if self._working is not None:
                    self._working.stop()
        return job

    def result(self, house: str, kind: str) -> tuple[Job, dict[str, Any]]:
        """Give the last answer of a sort for a house.

        Raises
        ------
        UnknownError
            Where there is none yet.
        """
        for job in self.of(house):
            path = self._path(job, "result")
            if job.kind == kind and job.state not in OPEN:
                with suppress(FileNotFoundError):  # none, or forgotten this moment
                    return job, json.loads(path.read_text("utf-8"))
        raise UnknownError(f"no {kind} was made for this house yet")

    def answer(self, house: str, name: str) -> tuple[Job, dict[str, Any]]:
        """Give the answer of one work.

        Raises
        ------
        UnknownError
            Where it has none (yet).
        """
        job = self.get(house, name)
        if job.state not in OPEN:
            with suppress(FileNotFoundError):  # none, or forgotten this moment
                found = json.loads(self._path(job, "result").read_text("utf-8"))
                return job, plan_today(found, self.house(job)) if job.kind == "plan" else found
        raise UnknownError("this work has no answer")

    def before(self, last: Job) -> Job | None:
        """Give the work of the same sort whose answer came before, if it tried nothing; None where there is none."""
        older = [job for job in self.of(last.house) if job.kind == last.kind and job.order < last.order]
        whole = (job for job in older if job.state not in OPEN and not job.ask.get("fixed"))
        return next((job for job in whole if self._path(job, "result").exists()), None)

    def book(self, house: str, name: str) -> Path:
        """Give the file of a book that is written.

        Raises
        ------
        UnknownError
            Where there is none (yet, or any more).
        """
        job, _ = self.answer(house, name)
        path = self.root / job.id / BOOK
        if job.kind != "book" or not path.is_file():
            raise UnknownError("this work has no file")
        return path

    def house(self, job: Job) -> House:
        """Give the house that a work is for, as its file stood then.

        Raises
        ------
        UnknownError
            Where it is forgotten meanwhile.
        """
        try:
            text = (self.root / job.id / "building.yaml").read_text("utf-8")
        except OSError as error:
            raise UnknownError("there is no such work") from error
        return self.shelf.known(job.house, job.hash, text, f"{job.house}.yaml")

    def kept(self, job: Job) -> dict[str, Any]:
        """Give what was kept beside an answer.

        Raises
        ------
        UnknownError
            Where it is forgotten meanwhile.
        """
        try:
            found: dict[str, Any] = json.loads(self._path(job, "kept").read_text("utf-8"))
        except FileNotFoundError as error:
            raise UnknownError("there is no such work") from error
        return found

    def plan_file(self, house: str) -> str | None:
        """Give the file of the last plan of a house that tried nothing; None where there is none."""
        for job in self.of(house):
            path = self._path(job, "result")
            if job.kind == "plan" and job.state not in OPEN and not job.ask.get("fixed") and path.exists():
                return str(path)
        return None

    def close(self) -> None:
        """End the queue; a work in the middle is taken up again at the next start."""
        with self._lock:
            self._closing = True
            if self._working is not None:
                self._working.cut()
        self._queue.put(None)
        self._thread.join(timeout=10)

    def _take_up(self) -> None:
        for path in sorted(self.root.glob("*/job.json")):
            try:
                job = Job(**json.loads(path.read_text("utf-8")))
            except (ValueError, TypeError, OSError):
                continue  # half a folder after a power cut: its question is lost with it, nothing else
            self._jobs[job.id] = job
        waiting = sorted((job for job in self._jobs.values() if job.state in OPEN), key=lambda job: job.order)
        for job in waiting:
            job.restarted += job.state == "running"
            job.state = "waiting"
            with suppress(OutputError):  # on a full disk: what stands there is taken up again too
                self._keep(job)
            self._queue.put(job.id)

    def _serve(self) -> None:
        while (name := self._queue.get()) is not None:
            job = self._jobs.get(name)
            if job is None or self._closing:
                continue
            try:
                self._serve_one(job)
            except (OSError, OutputError) as error:
                self._fail(job, error)  # full disk, folder gone: the next one begins

    def _serve_one(self, job: Job) -> None:
        with self._lock:
            if job.state != "waiting":
                return
            job.state = "running"
            self._keep(job)
        self._finish(job, self._work(job))

    def _fail(self, job: Job, error: OSError | OutputError) -> None:
        """Say that the folder of a work failed it; where even that can't be kept, the next start takes it up again."""
        if isinstance(error, OSError):
            error = unwritable(Path(error.filename or self.root), error)
        with self._lock, suppress(OutputError):
            job.error = error.to_json()
            self._end(job, "failed")

    def _work(self, job: Job) -> dict[str, Any]:
        place = self.root / job.id / "building.yaml"
        question = {
            "kind": job.kind,
            "text": place.read_text("utf-8"),
            "file": f"{job.house}.yaml",
            "ask": job.ask,
            "beside": {
                "house": job.house,
                "store": "" if self.store is None else full(self.store),
                "out": str(self.root / job.id / BOOK),
            },
        }

        def tell(told: dict[str, Any]) -> None:
            job.progress = told

        if self.apart:
            return self._apart(job, question, tell)
        return answer(question, Watch(tell, lambda: job.stop.is_set() or self._closing))

    def _apart(
        self, job: Job, question: dict[str, Any], tell: Callable[[dict[str, Any]], object]
    ) -> dict[str, Any]:
        with self._lock:
            if self._closing:
                return {}
            working = self._working = Apart()
            if job.stop.is_set():
                working.stop()
        try:
            return working.answer(question, tell)
        finally:
            with self._lock:
                self._working = None

    def _finish(self, job: Job, told: dict[str, Any]) -> None:
        if self._closing and not (self.apart and "result" in told):
            return  # cut short: the next start takes it up again
        with self._lock:
            if "result" in told:
                for name in ("kept", "result"):
                    write_whole(
                        self._path(job, name), json.dumps(told[name], ensure_ascii=False).encode("utf-8")
                    )
                self._end(job, "stopped" if job.stop.is_set() else "done")
            elif job.stop.is_set():
                self._sweep(job)
                self._end(job, "stopped")
            else:
                nothing = {"kind": "error", "message": "the work ended without an answer", "problems": []}
                job.error = told.get("error", nothing)
                self._sweep(job)
                self._end(job, "failed")
            self._forget_old(job)

    def _end(self, job: Job, state: str) -> None:
        job.state = state
        self._keep(job)

    def _sweep(self, job: Job) -> None:
        """Nothing half-written stays of a work without an answer."""
        for path in (self.root / job.id).iterdir():
            if path.name not in {"job.json", "building.yaml"}:
                path.unlink(missing_ok=True)

    def _expire(self) -> None:
        now = self.now()
        with self._lock:
            for job in list(self._jobs.values()):
                age = EXPIRES.get(job.kind)
                if age and job.state not in OPEN and now - datetime.fromisoformat(job.asked_at) > age:
                    self._forget(job)

    def _next_turn(self) -> int:
        return 1 + max((job.turn for job in self._jobs.values()), default=0)

    def _forget(self, job: Job) -> None:
        self._jobs.pop(job.id, None)
        shutil.rmtree(self.root / job.id, ignore_errors=True)

    def _forget_old(self, last: Job) -> None:
        done = [job for job in self.of(last.house) if job.kind == last.kind and job.state not in OPEN]
        for job in done[KEPT:]:
            self._forget(job)

    def _keep(self, job: Job) -> None:
        write_whole(
            self.root / job.id / "job.json", json.dumps(job.stored(), ensure_ascii=False).encode("utf-8")
        )

    def _path(self, job: Job, name: str) -> Path:
        return self.root / job.id / f"{name}.json"
