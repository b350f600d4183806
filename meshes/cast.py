"""The sitters whose meshes are committed: the middle head and four that differ from it clearly. All invented."""

from .field.sitter import Sitter

CAST = {
    "head": Sitter(),
    "broad": Sitter(
        face_breadth=1.045, jaw_breadth=1.10, face_length=0.99, brow_depth=2.6, nose_breadth=1.14, nose_length=0.98,
        nose_protrusion=1.0, neck=1.06, shoulder=1.08, eye_opening=0.86, lip_fullness=0.95, chin_forward=2.0,
        brow_weight=1.25, fold=1.25,
    ),
    "slender": Sitter(
        face_breadth=0.97, jaw_breadth=0.93, face_length=0.95, head_height=0.985, brow_depth=-1.5, nose_breadth=0.92,
        nose_length=0.96, nose_protrusion=0.90, neck=0.87, shoulder=0.94, eye_opening=1.08, eye_tilt=1.2,
        lip_fullness=1.2, cheek=0.8, brow_weight=0.72, fold=0.6, hair="bob",
    ),
    "deep_set": Sitter(
        face_breadth=0.99, jaw_breadth=0.97, face_length=1.05, brow_depth=4.2, nose_length=1.08, nose_protrusion=1.16,
        nose_bridge=2.0, cheek=-2.0, eye_opening=0.9, lip_fullness=0.72, mouth_breadth=1.04, neck=0.98, fold=1.7,
        brow_weight=1.15, chin_forward=1.0, eye_tilt=-1.0, hair="none",
    ),
    "round": Sitter(
        face_breadth=1.02, jaw_breadth=1.05, face_length=0.94, brow_depth=-2.2, nose_breadth=1.12, nose_length=0.93,
        nose_protrusion=0.84, nose_bridge=-2.2, cheek=3.0, eye_opening=0.95, eye_tilt=1.6, lip_fullness=1.25,
        neck=0.97, shoulder=1.0, fold=0.7, chin_forward=-1.5, hair="cropped",
    ),
}
