"""The weights of the tempo, learned on rendered clips; see ``tests/bench/train_tempo.py``."""

WEIGHTS = (
    # onsets, at each multiple
    0.36, -1.93, -0.30, 2.82, 9.74, 0.16, 19.63, -2.30, 3.96, 1.36, -8.37, -6.20, 1.41, -16.25, 13.11,
    # low, at each multiple
    1.42, 1.34, 3.21, 1.54, 0.85, -5.31, -12.80, -7.56, 0.86, 5.10, 4.64, 8.74, 3.97, 18.07, 1.20,
    # harmony, at each multiple
    2.89, 1.09, -4.12, -3.54, 4.09, -5.67, 2.84, 1.21, 2.46, 3.72, 4.43, 3.03, 2.21, 5.52, 0.78,
    # octaves from moderate, squared; squared octaves from one note a beat
    0.03, -1.21, -0.06,
)  # fmt: skip
