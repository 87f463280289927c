"""The cut drawing: every pattern of a plan, material by material."""

from __future__ import annotations

from collections.abc import Iterator

from service.drawing.lettering import Tags, clean, fitted
from service.drawing.panel import face_of
from service.drawing.pattern import FACE, WIDTH, PatternDrawer
from service.drawing.shapes import Anchor, Drawing, Text, stacked
from solver.job import Job
from solver.materials import Material
from solver.plan import CutPlan, MaterialPlan


def draw_plan(job: Job, plan: CutPlan) -> Drawing:
    """Return every pattern of every material, one below the other."""
    every = [drawing for part in plan.materials for drawing in _material(job, part)]
    title = f"Cut drawing: {clean(job.name)}" if job.name else "Cut drawing"
    described = " ".join(drawing.description for drawing in every)
    return stacked(title, described or "Nothing is cut.", every)


def draw_patterns(job: Job, plan: MaterialPlan, *, listed: bool = False) -> Iterator[Drawing]:
    """Yield one drawing for each pattern of a material, all to one scale; ``listed`` adds which stick gives what."""
    material = next(m for m in job.materials if m.id == plan.material)
    longest = max((use.stock_length for use in plan.patterns), default=1)
    drawer = PatternDrawer(job, material, Tags.of(plan), longest / (WIDTH - FACE - 1), listed)
    return map(drawer.draw, plan.patterns)


def _material(job: Job, plan: MaterialPlan) -> Iterator[Drawing]:
    material = next(m for m in job.materials if m.id == plan.material)
    name = clean(f"{material.id}: {material.description}" if material.description else material.id)
    heading = Text(0, 5, fitted(name, 4, WIDTH), 4, Anchor.START, bold=True)
    legend = Text(0, 9.5, legend_of(material), 2.4, Anchor.START)
    yield Drawing(name, f"{name}.", WIDTH, 10, (heading, legend))
    yield from draw_patterns(job, plan, listed=True)


def legend_of(material: Material) -> str:
    """Return what the signs on the drawings of this material mean."""
    face = face_of(material, 0, 0, 1)
    words = ["Seen on the face, nail hem up." if face.hem else "Seen on the face."]
    words += ["A notched end is a factory end."] * face.notched
    return " ".join([*words, "Cut at the arrows. Hatched = keep; cross-hatched = scrap."])
