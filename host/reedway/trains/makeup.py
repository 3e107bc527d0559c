"""A train made up from its vehicles: where, from its nose, magnets and powered pick-ups are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reedway.trains.model import OPERATING_MM_ASSUMED, Span, Stock, Train, Vehicle


@dataclass(frozen=True)
class Magnet:
    """One magnet of a train. `source` says where its operating length comes from."""

    vehicle: str
    from_nose: float
    operating: Span
    source: str
    side: str
    fits: Span | None  # from the nose
    kind: str


@dataclass(frozen=True)
class Makeup:
    """A train by numbers, in mm from its nose back."""

    train: Train
    length: float
    cars: tuple[tuple[str, float, float], ...]  # name, front, rear
    magnets: tuple[Magnet, ...]  # from the front
    first_pick_up: float
    last_pick_up: float  # while it is on live rail, the train is driven
    pick_ups: tuple[float, ...]  # every one that feeds a motor

    @property
    def name(self) -> str:
        return self.train.name


def vehicles_of(stock: Stock, train: Train) -> list[Vehicle]:
    """Its vehicles from the front on."""
    by_name = {vehicle.name: vehicle for vehicle in stock.vehicles}
    return [by_name[text.text] for text in train.vehicles]


def _groups(cars: Sequence[Vehicle]) -> list[list[int]]:
    """Numbers of the vehicles that share their pick-ups by wire."""
    groups: list[list[int]] = []
    for number in range(len(cars)):
        if number and cars[number - 1].wired_through:
            groups[-1].append(number)
        else:
            groups.append([number])
    return groups


def _fronts(cars: Sequence[Vehicle]) -> list[float]:
    fronts = [0.0]
    for car in cars:
        fronts.append(fronts[-1] + car.length)
    return fronts


def _pick_ups(cars: Sequence[Vehicle]) -> list[float]:
    """Every pick-up, from the nose, that feeds some motor."""
    fronts = _fronts(cars)
    found: list[float] = []
    for group in _groups(cars):
        if any(cars[n].motor for n in group):
            found += [fronts[n] + at for n in group for at in cars[n].pick_ups or ()]
    return found


def drives(cars: Sequence[Vehicle]) -> bool:
    """True when some motor of these has a pick-up."""
    return bool(_pick_ups(cars))


def make_up(stock: Stock, train: Train, worked_out: dict[str, Span]) -> Makeup:
    """The train by numbers; `worked_out` has operating lengths by kind of magnet."""
    cars = vehicles_of(stock, train)
    fronts = _fronts(cars)
    pick_ups = _pick_ups(cars)
    magnets = [_magnet(car, fronts[n], worked_out) for n, car in enumerate(cars) if car.magnet is not None]
    return Makeup(
        train=train,
        length=fronts[-1],
        cars=tuple((car.name, fronts[n], fronts[n + 1]) for n, car in enumerate(cars)),
        magnets=tuple(magnets),
        first_pick_up=min(pick_ups),
        last_pick_up=max(pick_ups),
        pick_ups=tuple(sorted(set(pick_ups))),
    )


def _magnet(car: Vehicle, front: float, worked_out: dict[str, Span]) -> Magnet:
    kind = car.magnet_kind.text if car.magnet_kind else ""
    if car.operating_length is not None:
        operating, source = car.operating_length, "given"
    elif kind in worked_out:
        operating, source = worked_out[kind], "worked out"
    else:
        operating, source = OPERATING_MM_ASSUMED, "assumed"
    fits = car.magnet_fits
    return Magnet(
        vehicle=car.name,
        from_nose=front + (car.magnet or 0.0),
        operating=operating,
        source=source,
        side=car.magnet_side,
        fits=(front + fits[0], front + fits[1]) if fits else None,
        kind=kind,
    )
