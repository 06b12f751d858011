"""Made photographs of a lapped seam with exact truth, for the tests and for the studies they rest on.

`draw_scene` picks a scene, `render` photographs it, `save` writes photograph and truth; `python -m tests.scenes.make`
fills a folder. The pictures follow from geometry and shading alone and share no code with what measures them.

Frames are the project's: x along the lap (an arc on a curved hull), y toward the sheer, z out of the strake's face,
origin on the face at the reference's centre; camera x right, y down, z forward; pixels (u, v) with integers at centres.
"""

from tests.scenes.draw import CLASSES, draw_scene
from tests.scenes.picture import Made, render
from tests.scenes.save import save
from tests.scenes.scene import Scene

__all__ = ["CLASSES", "Made", "Scene", "draw_scene", "render", "save"]
