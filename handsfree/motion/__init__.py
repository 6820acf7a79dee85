"""The motion of a leaf from the gyroscope of a phone taped to it."""
