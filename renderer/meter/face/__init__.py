"""Measures of the light on a face, as a crew speaks of them; see renderer/meter/MEASURES.md."""

from renderer.meter.face.finding import Finding
from renderer.meter.face.measures import FaceMeasures, Metered, measure, measures_of
from renderer.meter.face.trace import FaceTrace, trace_face

__all__ = ["FaceMeasures", "FaceTrace", "Finding", "Metered", "measure", "measures_of", "trace_face"]
