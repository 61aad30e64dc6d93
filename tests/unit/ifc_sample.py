"""A building model of two rooms, written by ifcopenshell in millimetres."""

from __future__ import annotations

from pathlib import Path

import ifcopenshell.api as api
import ifcopenshell.api.aggregate
import ifcopenshell.api.context
import ifcopenshell.api.geometry
import ifcopenshell.api.project
import ifcopenshell.api.root
import ifcopenshell.api.unit  # noqa: F401

OUTLINES = {
    "living": [(0, 0), (7600, 0), (7600, 4200), (3400, 4200), (3400, 6600), (0, 6600)],
    "hall": [(3550, 4350), (7600, 4350), (7600, 6200), (3550, 6200)],
}


def model(path: Path) -> None:
    """Write the model: an L-shaped and a rectangular space of one storey, 2.62 m high."""
    made = api.project.create_file()
    project = api.root.create_entity(made, ifc_class="IfcProject", name="flat")
    api.unit.assign_unit(made)  # millimetres
    context = api.context.add_context(made, context_type="Model")
    body = api.context.add_context(
        made, context_type="Model", context_identifier="Body", target_view="MODEL_VIEW",
        parent=context,
    )  # fmt: skip
    building = api.root.create_entity(made, ifc_class="IfcBuilding", name="house")
    storey = api.root.create_entity(made, ifc_class="IfcBuildingStorey", name="third floor")
    api.aggregate.assign_object(made, products=[building], relating_object=project)
    api.aggregate.assign_object(made, products=[storey], relating_object=building)
    for name, points in OUTLINES.items():
        space = api.root.create_entity(made, ifc_class="IfcSpace", name=name)
        space.LongName = name
        api.aggregate.assign_object(made, products=[space], relating_object=storey)
        line = made.createIfcPolyline(
            [made.createIfcCartesianPoint(tuple(map(float, p))) for p in [*points, points[0]]]
        )
        profile = made.createIfcArbitraryClosedProfileDef("AREA", None, line)
        solid = made.createIfcExtrudedAreaSolid(
            profile, None, made.createIfcDirection((0.0, 0.0, 1.0)), 2620.0
        )
        shape = made.createIfcShapeRepresentation(body, "Body", "SweptSolid", [solid])
        api.geometry.assign_representation(made, product=space, representation=shape)
    made.write(str(path))
