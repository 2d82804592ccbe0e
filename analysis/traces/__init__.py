"""Traces: one note of a glass over a minute. Does it burst, or does it linger?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .assess import assess_traces
    from .components import Course, course_of
    from .keys import BentBy, KeysFound
    from .parameters import PROMPTS_S, TraceParameters, trace_parameters
    from .plan import TracePlan, TracePower, plan_traces
    from .result import (
        CourseApart,
        CourseWord,
        MeanFound,
        SampleTraced,
        TraceMeans,
        Traces,
        TraceWord,
    )

__all__ = [
    "PROMPTS_S",
    "BentBy",
    "Course",
    "CourseApart",
    "CourseWord",
    "KeysFound",
    "MeanFound",
    "SampleTraced",
    "TraceMeans",
    "TraceParameters",
    "TracePlan",
    "TracePower",
    "TraceWord",
    "Traces",
    "assess_traces",
    "course_of",
    "plan_traces",
    "trace_parameters",
]

__getattr__ = names_from(
    __name__,
    {
        "BentBy": "keys",
        "Course": "components",
        "CourseApart": "result",
        "CourseWord": "result",
        "MeanFound": "result",
        "KeysFound": "keys",
        "PROMPTS_S": "parameters",
        "SampleTraced": "result",
        "TraceMeans": "result",
        "TraceParameters": "parameters",
        "TracePlan": "plan",
        "TracePower": "plan",
        "TraceWord": "result",
        "Traces": "result",
        "assess_traces": "assess",
        "course_of": "components",
        "plan_traces": "plan",
        "trace_parameters": "parameters",
    },
)
