"""Physical constants and unit factors, SI.

Sources: CODATA 2018 for ``MU_0`` and ``EPSILON_0`` (value from memory, equal to ``scipy.constants``);
unit factors are exact by definition (1 inch = 25.4 mm; 1 G = 1e-4 T).
"""

MU_0 = 1.25663706212e-6
EPSILON_0 = 8.8541878128e-12
INCH = 0.0254
GAUSS = 1e-4
