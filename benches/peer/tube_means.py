#!/usr/bin/env python3
"""tube_means.py VIDEO X0,Y0,X1,Y1...: mean and texture of each tube in every frame, as CSV.

What a short script does instead of reading: decode everything with OpenCV and keep two numbers a
tube. The yardstick for the speed of `meltrange read`, not for its answers.
"""

import sys

import cv2


def boxes(texts):
    """Boxes [px] from their texts."""
    return [tuple(int(round(float(part))) for part in text.split(",")) for text in texts]


def main():
    """Print one line a frame: time, then mean and texture of each box."""
    video = cv2.VideoCapture(sys.argv[1])
    tubes = boxes(sys.argv[2:])
    if not video.isOpened() or not tubes:
        sys.exit("tube_means: no video or no boxes")
    lines = []
    while True:
        read, picture = video.read()
        if not read:
            break
        grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
        cells = [f"{video.get(cv2.CAP_PROP_POS_MSEC) / 1000.0:.3f}"]
        for left, top, right, bottom in tubes:
            part = grey[top:bottom, left:right]
            texture = cv2.meanStdDev(cv2.Laplacian(part, cv2.CV_16S))[1][0][0]
            cells += [f"{cv2.mean(part)[0]:.2f}", f"{texture:.2f}"]
        lines.append(",".join(cells))
    print("\n".join(lines))
    print(f"{len(lines)} frames", file=sys.stderr)


if __name__ == "__main__":
    main()
