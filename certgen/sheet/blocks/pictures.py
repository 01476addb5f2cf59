"""Pictures of motor and plate: all of them on the record, one on the certificate where there is room."""

from __future__ import annotations

from certgen.job.pictures import MOTOR, PLACE, Picture
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Chart, Titled
from certgen.sheet.engine.setting import MM, Area, Block, Flow, PictureMark, Setting, Stretch, side_by_side

#: Coarsest a picture is printed [1/inch]: a small one keeps a small place rather than show its dots.
_COARSEST = 90
#: Room between a picture and its name, in parts of the body text, and between two pictures. [pt]
_ABOVE_NAME, _APART = 0.35, 6.0 * MM


def pictures(content: Content, settings: Titled) -> Block | None:
    """Every picture with its name below, two beside one another; nothing where the job has none."""
    if not content.pictures:
        return None

    def set_pictures(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        room = min(PLACE[0] * MM, (area.width - _APART) / 2.0)
        shown = [(1.0, lambda own, one=one: _named(one, own, PLACE[1] * MM, content)) for one in content.pictures]
        whole = room * len(shown) + _APART * (len(shown) - 1)
        flow.place(side_by_side(Area(whole, area.size, area.smallest), shown, _APART), 0.0)
        return flow.done()

    return Block(set_pictures)


def picture(content: Content, settings: Chart) -> Block | None:
    """The motor, or else its plate, as large as room allows; nothing where the job has neither."""
    if not content.pictures:
        return None
    shown = next((one for one in content.pictures if one.of == MOTOR), content.pictures[0])
    heights = (settings.minimum_height, settings.preferred_height, settings.maximum_height)
    minimum, preferred, maximum = (height * 1000.0 * MM for height in heights)

    def set_picture(area: Area) -> Setting:
        height = area.height or minimum
        wide, high = _size(shown, area.width, height)
        mark = PictureMark(area.width - wide, height - high, wide, high, shown, _in_words(shown, content))
        return Setting(height, (mark,))

    return Block(set_picture, Stretch(minimum, preferred, maximum))


def _named(shown: Picture, area: Area, most: float, content: Content) -> Setting:
    """A picture with its name below it."""
    wide, high = _size(shown, area.width, most)
    flow = Flow(area)
    flow.marks.append(PictureMark(0.0, 0.0, wide, high, shown, _in_words(shown, content)))
    flow.y = high
    flow.space(_ABOVE_NAME)
    flow.text(content.words(f"picture.{shown.of}"))
    return flow.done()


def _size(shown: Picture, wide: float, high: float) -> tuple[float, float]:
    """Width and height within a place, in proportion, no larger than its pixels allow. [pt]"""
    finest = 72.0 / _COARSEST
    scale = min(wide / shown.width, high / shown.height, finest)
    return shown.width * scale, shown.height * scale


def _in_words(shown: Picture, content: Content) -> str:
    motor = content.results.motor
    called = " ".join(part for part in (motor.maker, motor.model, motor.serial) if part)
    if called:
        return content.words(f"alt.picture_{shown.of}_of", motor=called)
    return content.words(f"alt.picture_{shown.of}")
