"""What has to be known of a substance before one says where it may go; None is not known."""

from dataclasses import dataclass

from relieflib.errors import InputError, positive, refuse


@dataclass(frozen=True)
class Hazards:
    """What a substance does outside its pipe; None where it is not known, which never counts as no.

    flammable, toxic, True or False; flammable_limit, the lower one, mole fraction in air [-];
    autoignition_temperature [K]; sets_solid, True where it polymerises, freezes or brings solids;
    wet, True where it brings water; not_with, names of what it must not meet. Raises InputError for
    values that can't be.
    >>> Hazards(flammable=True, toxic=False, flammable_limit=0.021).sets_solid is None
    True
    """

    flammable: bool | None = None
    toxic: bool | None = None
    flammable_limit: float | None = None
    autoignition_temperature: float | None = None
    sets_solid: bool | None = None
    wet: bool | None = None
    not_with: tuple = ()

    def __post_init__(self):
        for name in ("flammable", "toxic", "sets_solid", "wet"):
            if getattr(self, name) not in (True, False, None):
                raise InputError(f"{name} = {getattr(self, name)!r}: True, False or None")
        if self.flammable_limit is not None:
            y = positive(flammable_limit=self.flammable_limit)
            refuse(y >= 1.0, "flammable_limit", y, "must be below 1: per cent taken for it?")
            if self.flammable is not True:
                raise InputError("flammable_limit: belongs to flammable=True")
        if self.autoignition_temperature is not None:
            positive(autoignition_temperature=self.autoignition_temperature)
