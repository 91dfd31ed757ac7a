"""The whole walk, stage by stage: what the command line, the page and the demo have in common.

A project lives in a folder; functions here read and write the folder's pictures, cloth and pieces, and give the changed
project. Writing ``project.json`` is the caller's: :func:`mockup.files.project_file.save`.

Pictures of a view ``front``: ``front.png`` as it is shown, ``front-labels.png`` (16 bit, 0 outside), ``front-ink.png``
of a drawing, ``photo-mask.png`` of a photo.
"""

from mockup.journey.area_work import edit_areas, join_areas, move_point, read_again
from mockup.journey.choir import open_choir
from mockup.journey.cloths import fabric_names, plain_fabric, put_fabric, read_fabric
from mockup.journey.comparing import compare, compare_document
from mockup.journey.cutting import cut, keep_pieces, pieces_of, put_pieces, split_of, write_split
from mockup.journey.design import assign, panels_of
from mockup.journey.drawings import drawn_view, new_project, put_drawing, read_drawing, regions_of
from mockup.journey.joining import Join, with_joins
from mockup.journey.known import Source, find
from mockup.journey.painting import paint_view
from mockup.journey.photos import dab, put_mask, put_photo
from mockup.journey.picture_kinds import looks_like_photo
from mockup.journey.publish import Published, file_names, handout, lightness, need_of, one_way, proof_json, publish
from mockup.journey.scale import follow_scale, measure
from mockup.journey.staying import Stayed, stay

__all__ = [
    "Join",
    "Published",
    "Source",
    "Stayed",
    "assign",
    "compare",
    "compare_document",
    "cut",
    "dab",
    "drawn_view",
    "edit_areas",
    "fabric_names",
    "file_names",
    "find",
    "follow_scale",
    "handout",
    "join_areas",
    "keep_pieces",
    "lightness",
    "looks_like_photo",
    "measure",
    "move_point",
    "need_of",
    "new_project",
    "one_way",
    "open_choir",
    "paint_view",
    "panels_of",
    "pieces_of",
    "plain_fabric",
    "proof_json",
    "publish",
    "put_drawing",
    "put_fabric",
    "put_mask",
    "put_photo",
    "put_pieces",
    "read_again",
    "read_drawing",
    "read_fabric",
    "regions_of",
    "split_of",
    "stay",
    "with_joins",
    "write_split",
]
