"""From joint angles to points in space: the drawn body, every bone at its length.

Axes, in cm: x to where the body faces, y up, z to its right. Lengths are shares of stature from
`rules/figures.yaml`; what each angle means stands at the head of `rules/poses/squat.yaml`.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.model.documents.figures import Figures
from assistant.model.documents.poses import Position, Rest

Vector = tuple[float, float, float]
Matrix = tuple[Vector, Vector, Vector]
SIDES = (("right", 1), ("left", -1))
# Where the ankle stands over the foot, from the heel, as a share of the foot's length.
_ANKLE_FROM_HEEL = 0.25
# Pads of machines lie on the thigh a little over the knee.
_OVER_THE_KNEE = 0.8
# The upper back lies on a bench a little under the line of the shoulders.
_UPPER_BACK = 0.75


def plus(a: Vector, b: Vector, times: float = 1.0) -> Vector:
    """Return a + times * b."""
    return (a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2])


def below(point: Vector, by: float) -> Vector:
    """Return the skin under a joint: what touches a level floor or bench."""
    return (point[0], point[1] - by, point[2])


def turned(matrix: Matrix, vector: Vector) -> Vector:
    """Return a vector of a frame in the frame around it."""
    x, y, z = vector
    return (
        matrix[0][0] * x + matrix[0][1] * y + matrix[0][2] * z,
        matrix[1][0] * x + matrix[1][1] * y + matrix[1][2] * z,
        matrix[2][0] * x + matrix[2][1] * y + matrix[2][2] * z,
    )


def _times(a: Matrix, b: Matrix) -> Matrix:
    first, second, third = (turned(a, (b[0][n], b[1][n], b[2][n])) for n in range(3))
    return (
        (first[0], second[0], third[0]),
        (first[1], second[1], third[1]),
        (first[2], second[2], third[2]),
    )


def _about(axis: str, degrees: float) -> Matrix:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    if axis == "x":
        return ((1, 0, 0), (0, c, -s), (0, s, c))
    if axis == "y":
        return ((c, 0, s), (0, 1, 0), (-s, 0, c))
    return ((c, -s, 0), (s, c, 0), (0, 0, 1))


@dataclass(frozen=True)
class Body:
    """A body in one position: points by name, in cm. frames: how the pelvis and the forearms are turned."""

    points: Mapping[str, Vector]
    frames: Mapping[str, Matrix]

    def is_pair(self, name: str) -> bool:
        """Tell whether there is a part on the right and on the left."""
        return f"{name}_right" in self.points

    def part(self, name: str, side: str = "both") -> Vector:
        """Return where a part is: for both sides the middle between them."""
        if side != "both" and f"{name}_{side}" in self.points:
            return self.points[f"{name}_{side}"]
        if name in self.points:
            return self.points[name]
        right, left = self.points[f"{name}_right"], self.points[f"{name}_left"]
        return tuple((a + b) / 2 for a, b in zip(right, left, strict=True))  # type: ignore[return-value]


def body(position: Position, figures: Figures, rests: tuple[Rest, ...], when: str) -> Body:
    """Return the body in a position, placed where its first rest says.

    when: `start` or `end`, which of the rests hold.
    """
    made = _made(position, figures)
    anchor = next(rest for rest in rests if rest.when in {"both", when})
    now = made.part(anchor.part, anchor.side)
    x, y = anchor.at or (0.0, 0.0)
    move = (x - now[0], y - now[1], 0.0)
    return Body({name: plus(point, move) for name, point in made.points.items()}, made.frames)


def _made(position: Position, figures: Figures) -> Body:
    size, thick = figures.measures, figures.thickness
    tall = figures.stature_cm
    pelvis = _times(_about("x", position.roll), _about("z", -position.trunk))
    chest = _times(_times(pelvis, _about("z", -position.spine)), _about("x", position.spine_side))
    half = size.trunk * tall / 2
    hips: Vector = (0.0, 0.0, 0.0)
    waist = turned(pelvis, (0, half, 0))
    shoulders = plus(waist, turned(chest, (0, half, 0)))
    skull = _times(chest, _about("z", -position.neck))
    head = plus(shoulders, turned(skull, (0, size.head_centre * tall, 0)))
    points: dict[str, Vector] = {
        "hips": hips,
        "waist": waist,
        "shoulders": shoulders,
        "neck": plus(shoulders, turned(chest, (0, 5.0, 0))),
        "head": head,
        "nose": plus(head, turned(skull, (size.head * tall / 2, 0, 0))),
        "seat": (hips[0], hips[1] - thick.hip, hips[2]),
        "sacrum": turned(pelvis, (-thick.hip, 0, 0)),
        "belly": plus(waist, turned(pelvis, (thick.waist, 0, 0))),
        "upper_back": plus(waist, turned(chest, (-thick.chest, half * _UPPER_BACK, 0))),
        "chest": plus(waist, turned(chest, (thick.chest, half * _UPPER_BACK, 0))),
    }
    frames = {"pelvis": pelvis}
    for number, (side, out) in enumerate(SIDES):
        angles = {name: position.of(name)[number] for name in Position.model_fields}
        hip = plus(hips, turned(pelvis, (0, 0, out * size.hip_width * tall / 2)))
        points |= _leg(side, out, hip, pelvis, angles, figures)
        shoulder = plus(shoulders, turned(chest, (0, 0, out * size.shoulder_width * tall / 2)))
        upper = _limb_frame(out, chest, angles, "shoulder")
        forearm = frames[f"forearm_{side}"] = _times(upper, _about("z", angles["elbow"]))
        points |= _arm(side, shoulder, (upper, forearm), angles["wrist"], figures)
    return Body(points, frames)


def _limb_frame(out: int, root: Matrix, angles: Mapping[str, float], joint: str) -> Matrix:
    """Flexion, then outwards, then a turn about the limb itself; outwards and outward turns are positive."""
    frame = _times(root, _about("z", angles[joint]))
    frame = _times(frame, _about("x", -out * angles[f"{joint}_out"]))
    return _times(frame, _about("y", -out * angles[f"{joint}_turn"]))


def _leg(
    side: str, out: int, hip: Vector, pelvis: Matrix, angles: Mapping[str, float], figures: Figures
) -> dict[str, Vector]:
    size, thick, tall = figures.measures, figures.thickness, figures.stature_cm
    thigh = _limb_frame(out, pelvis, angles, "hip")
    shank = _times(thigh, _about("z", -angles["knee"]))
    foot = _times(thigh, _about("z", angles["ankle"] - angles["knee"]))
    knee = plus(hip, turned(thigh, (0, -size.thigh * tall, 0)))
    ankle = plus(knee, turned(shank, (0, -size.shank * tall, 0)))
    length, sole = size.foot_length * tall, -size.foot_height * tall
    behind = _ANKLE_FROM_HEEL * length
    middle = plus(knee, turned(shank, (0, -size.shank * tall / 2, 0)))
    return {
        f"hip_{side}": hip,
        f"knee_{side}": knee,
        f"ankle_{side}": ankle,
        f"hips_{side}": below(hip, thick.hip),
        f"knees_{side}": below(knee, thick.knee),
        f"ankles_{side}": below(ankle, thick.ankle),
        f"shins_{side}": plus(middle, turned(shank, (thick.ankle, 0, 0))),
        f"thighs_{side}": plus(
            hip, turned(thigh, (thick.knee, -size.thigh * tall * _OVER_THE_KNEE, 0))
        ),
        f"feet_{side}": plus(ankle, turned(foot, (0, sole, 0))),
        f"heels_{side}": plus(ankle, turned(foot, (-behind, sole, 0))),
        f"toes_{side}": plus(ankle, turned(foot, (length - behind, sole, 0))),
    }


def _arm(
    side: str, shoulder: Vector, frames: tuple[Matrix, Matrix], wrist_angle: float, figures: Figures
) -> dict[str, Vector]:
    size, thick, tall = figures.measures, figures.thickness, figures.stature_cm
    upper, forearm = frames
    hand = _times(forearm, _about("z", wrist_angle))
    elbow = plus(shoulder, turned(upper, (0, -size.upper_arm * tall, 0)))
    wrist = plus(elbow, turned(forearm, (0, -size.forearm * tall, 0)))
    return {
        f"shoulder_{side}": shoulder,
        f"elbow_{side}": elbow,
        f"wrist_{side}": wrist,
        f"shoulders_{side}": below(shoulder, thick.shoulder),
        f"elbows_{side}": below(elbow, thick.elbow),
        f"palms_{side}": below(wrist, thick.wrist),
        f"hands_{side}": plus(wrist, turned(hand, (0, -size.hand * tall / 2, 0))),
        # Nothing is drawn or rests here; a picture has room for it.
        f"fingers_{side}": plus(wrist, turned(hand, (0, -size.hand * tall * 0.9, 0))),
    }
