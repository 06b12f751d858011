"""The thing of known length in the photograph, and the pose of the face it lies on."""
