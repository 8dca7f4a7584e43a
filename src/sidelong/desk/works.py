"""What computes for a desk: the file's versions, focus, light, pictures, the day, takes."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

from sidelong.desk.cards import card
from sidelong.desk.days import day_of, sun_at
from sidelong.desk.drawn_cables import drawn_cables
from sidelong.desk.events import Events
from sidelong.desk.files import keep_file
from sidelong.desk.focus_room import FocusRoom
from sidelong.desk.kept import focus_key, key_of
from sidelong.desk.live import Live
from sidelong.desk.messages import PlainEvent, ShootEvent
from sidelong.desk.messages_drawn import Cables
from sidelong.desk.messages_shot import Card, Day, Sun, Take, TakeAsked
from sidelong.desk.metering import Metering, Shades
from sidelong.desk.one_by_one import OneByOne
from sidelong.desk.pictures import Pictures
from sidelong.desk.scene import scene_glb
from sidelong.desk.scene_light import scene_light
from sidelong.desk.scene_shot import shot_glb
from sidelong.desk.state import ShownState
from sidelong.desk.store import Now, ShootStore, composed
from sidelong.desk.takes import FILE_NAME as TAKES
from sidelong.desk.takes import Takes
from sidelong.desk.worker_process import Failed, Stopped
from sidelong.errors import InputFault, Missing, ShootFault
from sidelong.shoot.document import PREVIOUS
from sidelong.shoot.values import Shoot, Shot


class Works:
    """Everything that the routes of a shoot answer from. Every method may be called from any thread."""

    def __init__(self, shoot: Path, events: Events) -> None:
        self.store = ShootStore(shoot)
        self.events = events
        self.store.on_change(lambda revision: events.tell(ShootEvent(revision=revision)))
        self.shown = ShownState(self.store)
        self.focus = FocusRoom()
        self.live = Live(self.good)
        self.takes = Takes(self.store.folder)
        path = str(self.store.path)
        self.metering = Metering(self.good, path, events, OneByOne("metering"))
        self.pictures = Pictures(self.store.folder, self.good, path, events, OneByOne("pictures"))
        self.shades = Shades(path)

    def warm(self) -> None:
        """Make what the page asks for first."""
        self.shown.as_json()
        good = self.store.good()
        if good is not None:
            self.live.warm()

    def good(self) -> Now:
        """The newest version that could be composed.

        Raises
        ------
        ShootFault
            None could be composed yet; with the faults of the newest.
        """
        good = self.store.good()
        if good is None:
            raise ShootFault(self.store.now().checked.faults)
        return good

    def shot(self, id_: str) -> tuple[Now, Shoot, Shot]:
        """A shot by its id, its shoot, and the version that it is of.

        Raises
        ------
        InputFault
            No shot has that id.
        ShootFault
            No version could be composed yet.
        """
        now = self.good()
        shoot = composed(now)
        for shot in shoot.shots:
            if shot.id == id_:
                return now, shoot, shot
        ids = ", ".join(s.id for s in shoot.shots) or "none"
        raise InputFault(f'found no shot "{id_:.100}"; expected one of {ids:.300}')

    def focus_of(self, id_: str) -> dict[str, Any]:
        """The focus of a shot with its cuts. Raises as `shot`, and ShotRefused."""
        now, shoot, shot = self.shot(id_)
        return self.focus.answer(shoot, shot, focus_key(now.data, id_))

    def light_of(self, id_: str) -> dict[str, Any]:
        """The light of a shot as far as it is metered. Raises as `shot`."""
        self.shot(id_)
        return self.metering.answer(id_)

    def meter(self, id_: str) -> dict[str, Any]:
        """Have the light of a shot metered. Raises as `shot`."""
        self.shot(id_)
        return self.metering.ask(id_)

    def stop_metering(self, id_: str) -> dict[str, Any]:
        """Let go what is metered of a shot. Raises as `shot`."""
        self.shot(id_)
        return self.metering.cancel(id_)

    def card(self, id_: str) -> Card:
        """What is needed on the set for a shot. Raises as `shot`."""
        now, shoot, shot = self.shot(id_)
        return card(shoot, shot, self.focus, focus_key(now.data, id_), self.metering.answer(id_))

    def scene(self) -> bytes:
        """Place and people as a binary glTF. Raises as `shot`, and FileFault for a mesh that cannot be read."""
        return scene_glb(composed(self.good()))

    def scene_of_shot(self, id_: str) -> bytes:
        """What stands in a shot alone, as a binary glTF. Raises as `shot`."""
        _, shoot, shot = self.shot(id_)
        return shot_glb(shoot, shot)

    def cables(self, id_: str) -> Cables:
        """The cables of a shot. Raises as `shot`."""
        _, shoot, shot = self.shot(id_)
        return drawn_cables(shoot, shot)

    def scene_light(self, id_: str) -> dict[str, Any]:
        """The light of a shot in few numbers, for the live view. Raises as `shot`."""
        _, shoot, shot = self.shot(id_)
        return scene_light(shoot, shot)

    def scene_shade(self) -> bytes:
        """How open the scene's corners are; waits for it.

        Raises
        ------
        Missing
            It cannot be worked out on this machine, or was given up.
        """
        now = self.good()
        try:
            return self.shades.of(
                now.text, key_of(now.data.get("place"), now.data.get("people"), now.data.get("shots"))
            )
        except (Failed, Stopped) as error:
            raise Missing(str(error) or "given up") from error

    def day(self, date: str) -> Day:
        """The sun over a day of the place. Raises InputFault for what is no day, ShootFault as `shot`."""
        return day_of(composed(self.good()), date)

    def sun(self, when: str) -> Sun:
        """The sun at one instant. Raises InputFault for what is no instant, ShootFault as `shot`."""
        return sun_at(composed(self.good()), when)

    def note_take(self, asked: TakeAsked) -> Take:
        """Note a take of a shot. Raises as `shot`, and FileFault where takes.json is not as it should be."""
        self.shot(asked.shot)
        take = self.takes.note(asked)
        self.events.tell(PlainEvent(kind="takes"))
        return take

    def keep_file(self, name: str, content: bytes) -> str:
        """Keep a file in the shoot's folder; its path from there. Raises as `desk.files.keep_file`."""
        return keep_file(self.store.folder, name, content)

    async def watch(self, stop: asyncio.Event) -> None:
        """Look at the file whenever something in the folder changes, until told to stop."""
        from watchfiles import awatch  # late: slow import

        names = {self.store.path.name, TAKES}
        folder = self.store.folder

        def concerns(_: object, path: str) -> bool:
            return Path(path).name in names and not path.endswith(PREVIOUS)

        async for changes in awatch(
            folder, watch_filter=concerns, stop_event=stop, debounce=60, step=20, recursive=False
        ):
            found = {Path(path).name for _, path in changes}
            if self.store.path.name in found:
                await asyncio.to_thread(self.store.look)
            if TAKES in found:
                self.events.tell(PlainEvent(kind="takes"))

    def end(self) -> None:
        """End every process that is at work."""
        self.metering.end()
        self.pictures.end()
        self.shades.end()
