"""The plan of a job: from a drive and what is known of the vehicle to the ordered steps, parts, tools and pins."""

from twoturn.plan.assemble import make_plan, step_order
from twoturn.plan.model import Plan, Step
from twoturn.plan.vehicle import VehicleFacts

__all__ = ["Plan", "Step", "VehicleFacts", "make_plan", "step_order"]
