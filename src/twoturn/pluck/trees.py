"""How the evidence for a pluck is weighed: small decision trees, each adding a little to the log-odds.

A weighted sum cannot tell a weak lone tone, which is a pluck when it starts at once and rings long, from one tone of a
knock; trees of two questions can. They were grown, not written: gradient boosting on simulated recordings,
1110 recordings: seeds 1000000 and on, 280 of plucks, 160 of plucks beside something loud and
560 without a pluck; seeds 2000000 and on, 110 of lone tones in noise. Number of trees and the limits in
``read`` were chosen by five-fold cross-validation on these; the bench uses other seeds.
More share and strength and less that was there before never speak against a pluck (kept so while growing).

References
----------
J. H. Friedman, Greedy function approximation: a gradient boosting machine, Ann. Statist. 29 (2001) 1189-1232.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

FEATURES = (
    "series",
    "share",
    "band_share",
    "count",
    "attack",
    "older",
    "low",
    "bright",
    "quality",
    "unsure",
    "first",
    "strength",
    "pitch",
    "decay",
    "astray",
    "other",
    "unlike",
    "longer",
    "glide",
    "rung",
)
CONSTANT = -1.293
# one tree a line: "first question | question and answers where it is not above | the same where it is above";
# a question is a quantity and a limit; its answers are what is added where the quantity is not above it, where it is
TABLE = """
    series 2.96 | quality 3.362 -0.028 -0.106 | first 0.4006 0.031 0.288
    bright -3.558 | series 2.96 -0.040 0.224 | bright -2.835 -0.047 -0.114
    first 0.1666 | bright -3.838 -0.072 -0.118 | share -0.3608 -0.059 0.223
    bright -3.558 | astray 5.828e-07 -0.038 0.120 | pitch 4.278 0.037 -0.106
    first 0.1666 | bright -3.838 -0.072 -0.113 | band_share -0.3358 -0.034 0.172
    series 2.203 | quality 3.761 -0.058 -0.106 | bright -3.405 0.123 -0.009
    first 0.1065 | other 0.2987 -0.110 -0.052 | share -0.3608 -0.053 0.146
    bright -3.405 | first 0.01669 -0.079 0.097 | band_share -0.08907 -0.103 -0.026
    series 2.645 | bright -3.129 -0.044 -0.102 | first 0.3309 -0.005 0.109
    bright -3.129 | series 3.224 -0.029 0.106 | pitch 4.278 0.033 -0.102
    bright -2.987 | first 0.01669 -0.076 0.072 | share -0.1507 -0.100 -0.058
    series 2.203 | quality 3.823 -0.045 -0.096 | rung 3.793 -0.014 0.085
    first 0.1065 | unsure -1.961 -0.104 -0.059 | share -0.5132 -0.058 0.097
    bright -2.835 | first 0.01669 -0.067 0.058 | pitch 4.278 0.011 -0.099
    bright -3.558 | series 3.489 -0.020 0.088 | pitch 4.278 0.043 -0.088
    series 2.037 | quality 3.761 -0.043 -0.090 | rung 4.629 -0.018 0.073
    quality 5.129 | series 2.531 -0.041 0.068 | unsure -3.126 -0.000 -0.105
    first 0.05598 | other 0.1116 -0.104 -0.013 | share -0.2106 -0.037 0.093
    quality 5.22 | series 2.203 -0.045 0.054 | quality 5.67 -0.062 -0.112
    bright -2.835 | rung 2.226 -0.083 0.040 | pitch 4.278 0.008 -0.092
    older -1.466 | astray 5.828e-07 -0.035 0.037 | quality 4.213 -0.064 -0.112
    first 0.05598 | unsure -1.961 -0.105 -0.034 | band_share -0.2354 -0.027 0.086
    rung 2.422 | quality 3.823 -0.009 -0.100 | bright -2.708 0.035 -0.071
    first 0.05598 | other 0.1116 -0.101 0.003 | share -1.166 -0.076 0.053
    quality 5.22 | series 1.859 -0.047 0.040 | unsure -3.126 0.001 -0.098
    older -1.466 | first 0.1666 -0.042 0.038 | pitch 4.421 -0.042 -0.113
    bright -2.835 | count 1.5 -0.037 0.040 | pitch 4.278 0.012 -0.086
    older -1.466 | first 0.1666 -0.040 0.034 | pitch 4.421 -0.040 -0.110
    rung 2.226 | pitch 4.421 -0.014 -0.097 | first 0.05598 -0.054 0.034
    rung 2.422 | longer -0.2578 -0.011 -0.094 | unsure -2.786 0.099 -0.004
    bright -2.708 | first 0.9861 0.033 -0.041 | other -4.048 0.004 -0.086
    quality 5.056 | series 4.913 -0.007 0.074 | older -5.212 -0.012 -0.095
    bright -2.708 | series 4.913 -0.005 0.067 | quality 3.247 -0.012 -0.092
    older -1.466 | unsure -2.863 0.087 -0.003 | pitch 4.421 -0.038 -0.107
    low 0.804 | longer 0.5072 -0.092 0.004 | count 2.5 -0.020 0.058
    rung 2.226 | pitch 4.421 -0.004 -0.089 | unsure -2.863 0.094 -0.002
    bright -2.708 | quality 5.67 0.019 -0.095 | quality 3.247 -0.009 -0.089
    first 0.05598 | other -0.165 -0.100 0.039 | share -1.166 -0.068 0.040
    low 0.804 | other 0.7977 -0.094 -0.016 | astray 5.09e-05 -0.031 0.038
    quality 5.397 | low 0.8715 -0.060 0.018 | rung 7.203 -0.084 0.006
    attack 0.9092 | rung 1.355 -0.077 0.018 | pitch 4.66 -0.006 -0.081
    older -1.466 | first 0.1065 -0.035 0.023 | pitch 4.421 -0.035 -0.104
    pitch 6.133 | low 0.8715 -0.060 0.017 | unsure -2.983 0.014 -0.106
    first 0.9861 | first 0.1065 -0.039 0.040 | other -4.302 0.058 -0.079
    bright -2.708 | unsure -2.786 0.071 -0.001 | other -4.048 0.024 -0.075
    first 0.9861 | first 0.05598 -0.037 0.036 | other -4.302 0.050 -0.074
    rung 1.191 | quality 3.823 -0.008 -0.094 | decay -4.3 -0.078 0.013
    pitch 6.133 | attack 0.9092 0.015 -0.052 | unsure -2.983 0.011 -0.103
    older -1.466 | other -1.298 0.027 -0.018 | first 0.1666 -0.033 -0.090
    quality 5.397 | series 5.175 -0.006 0.058 | unsure -3.126 -0.003 -0.081
    older -1.466 | unsure -2.863 0.067 -0.002 | pitch 4.421 -0.031 -0.099
    pitch 5.957 | quality 4.684 0.018 -0.049 | series 5.175 -0.083 0.036
    low 0.6325 | longer 0.5072 -0.097 -0.001 | first 0.9861 0.022 -0.036
    bright -1.884 | pitch 6.211 0.010 -0.110 | quality 2.849 -0.020 -0.087
    low 0.804 | other 0.7977 -0.084 0.006 | count 2.5 -0.013 0.038
    rung 1.191 | pitch 3.919 0.006 -0.089 | unsure -2.863 0.075 -0.003
    attack 0.9092 | pitch 6.211 0.012 -0.106 | pitch 4.66 0.003 -0.071
    low 0.6325 | longer 0.5072 -0.093 0.002 | first 0.9861 0.019 -0.033
    bright -1.884 | low 0.8715 -0.051 0.013 | quality 2.849 -0.016 -0.084
    rung 3.793 | pitch 4.421 0.024 -0.056 | low 0.9241 -0.039 0.020
    decay -4.3 | pitch 5.784 -0.041 -0.099 | attack 0.9657 0.012 -0.050
    rung 1.191 | pitch 3.919 0.004 -0.085 | unsure -2.863 0.071 -0.003
    pitch 5.784 | quality 1.882 -0.079 0.015 | series 4.177 -0.071 0.027
    pitch 6.133 | low 0.6325 -0.079 0.009 | pitch 6.211 -0.035 -0.102
    pitch 4.047 | first 0.05598 -0.024 0.083 | rung 3.793 -0.045 0.003
    quality 1.882 | first 0.872 -0.006 -0.101 | quality 3.362 0.027 -0.016
    series 5.175 | pitch 5.784 0.002 -0.057 | bright -4.111 0.064 0.014
    older -1.094 | series 1.762 -0.026 0.015 | pitch 4.421 -0.033 -0.091
    decay -4.3 | pitch 5.375 -0.021 -0.081 | first 0.01669 -0.031 0.014
    attack -1.235 | band_share -0.1039 -0.078 0.035 | attack 0.9092 0.011 -0.044
    first 0.9861 | low 0.9241 -0.037 0.023 | band_share -0.00773 -0.059 0.037
    rung 1.191 | pitch 3.919 -0.000 -0.080 | unsure -2.863 0.066 -0.003
    pitch 6.211 | low 0.6325 -0.074 0.006 | pitch 6.211 -0.097 -0.097
    astray 0.0004515 | unsure -2.863 0.046 -0.029 | bright -3.838 0.032 -0.033
    pitch 4.205 | bright -5.807 -0.016 0.071 | low 0.8715 -0.064 -0.001
    rung 1.191 | older -4.044 -0.007 -0.083 | quality 1.882 -0.071 0.008
    older -1.094 | pitch 4.047 0.043 -0.003 | pitch 4.421 -0.030 -0.087
    bright -1.779 | first 0.971 0.014 -0.022 | pitch 5.021 -0.006 -0.076
    rung 1.191 | older -4.044 -0.007 -0.079 | pitch 6.133 0.007 -0.065
    bright -1.779 | attack -1.235 -0.066 0.007 | pitch 5.021 -0.006 -0.074
    quality 1.882 | pitch 5.314 -0.083 0.013 | quality 3.362 0.022 -0.014
    pitch 6.211 | first 0.01669 -0.028 0.010 | pitch 6.211 -0.092 -0.092
    unsure -2.983 | decay -0.9978 0.066 -0.044 | glide 0.0003781 -0.067 0.003
    quality 1.504 | pitch 5.412 -0.090 -0.009 | pitch 4.421 0.030 -0.008
    attack 0.9657 | series 5.175 -0.004 0.048 | rung 7.599 -0.080 0.007
    pitch 6.211 | attack -1.235 -0.061 0.005 | pitch 6.211 -0.089 -0.089
    rung 1.191 | older -4.044 -0.005 -0.076 | decay -4.3 -0.052 0.007
    unsure -2.863 | band_share -0.1473 -0.030 0.071 | astray 0.0004515 -0.024 0.012
    low 0.6325 | other 1.429 -0.079 0.002 | series 5.784 -0.004 0.045
    rung 4.16 | first 0.9861 -0.001 -0.080 | glide 0.0002346 -0.043 0.014
    low 0.6325 | longer 0.5072 -0.080 0.018 | pitch 5.784 0.010 -0.028
    attack 1.441 | quality 1.882 -0.069 0.006 | glide 0.004048 -0.066 0.031
    band_share -3.037 | first 0.2476 -0.033 -0.091 | low 0.9241 -0.032 0.009
    older -0.9713 | first 0.05598 -0.026 0.011 | first 0 -0.029 -0.080
    attack -1.235 | bright -6 0.004 -0.076 | quality 1.504 -0.086 0.005
    pitch 6.211 | bright -1.331 0.005 -0.062 | pitch 6.211 -0.085 -0.085
    attack 0.2743 | series 4.913 0.000 0.056 | rung 6.874 -0.043 0.003
    glide 0.0003781 | unsure -2.863 0.044 -0.065 | band_share -3.037 -0.069 0.008
    bright -1.779 | attack -1.235 -0.056 0.006 | quality 2.729 0.010 -0.074
    first 0.971 | unsure -1.514 -0.001 0.081 | other -4.048 0.056 -0.054
    quality 1.504 | quality 1.504 -0.079 -0.079 | pitch 4.421 0.027 -0.007
    low 0.6325 | unsure -1.797 -0.077 -0.004 | series 6.153 -0.003 0.044
    rung 1.191 | pitch 3.919 0.006 -0.068 | decay -4.3 -0.046 0.006
    pitch 6.211 | attack 0.2743 0.012 -0.015 | pitch 6.211 -0.082 -0.082
    low 0.9241 | longer 0.5072 -0.042 0.057 | other -1.298 0.023 -0.017
    older -1.466 | series 5.175 -0.003 0.033 | pitch 4.421 -0.021 -0.086
    decay -1.237 | first 0 -0.023 0.009 | astray 0.004194 -0.074 0.016
    attack 1.441 | quality 1.882 -0.064 0.006 | glide 0.004048 -0.060 0.032
    glide 0.0003781 | pitch 5.187 -0.077 0.006 | pitch 5.957 0.010 -0.041
    pitch 6.211 | low 0.6325 -0.059 0.004 | pitch 6.211 -0.079 -0.079
    bright -1.191 | quality 1.504 -0.074 0.004 | pitch 5.021 0.000 -0.077
    first 0.971 | unsure -1.514 -0.002 0.077 | other -4.048 0.051 -0.050
    rung 4.16 | first 0.9861 0.001 -0.075 | first 0 -0.024 0.015
    attack -1.235 | band_share -0.1039 -0.063 0.041 | attack 0.2474 0.015 -0.014
    unsure -2.786 | first 0.05598 -0.063 0.051 | glide 0.0007756 -0.047 0.005
    band_share -3.037 | first 0.4006 -0.029 -0.086 | other 1.429 -0.004 0.048
    pitch 4.047 | other -1.746 -0.005 0.102 | rung 6.874 -0.024 0.009
    pitch 6.211 | low 0.6325 -0.057 0.004 | pitch 6.211 -0.077 -0.077
    quality 1.504 | quality 1.504 -0.072 -0.072 | pitch 4.421 0.023 -0.006
    bright -1.191 | unsure -2.786 0.039 -0.002 | pitch 5.021 0.000 -0.075
    quality 5.937 | series 6.153 -0.003 0.039 | other 2.234 -0.070 0.018
    attack 1.441 | quality 1.882 -0.059 0.005 | first 0.899 -0.010 -0.085
    rung 1.191 | older -4.044 0.005 -0.068 | low 0.9241 -0.026 0.008
    pitch 6.211 | attack -1.235 -0.048 0.004 | pitch 6.211 -0.074 -0.074
    glide 0.0003781 | unsure -2.863 0.038 -0.056 | pitch 5.957 0.008 -0.037
    first 0.971 | unsure -1.514 -0.002 0.069 | other -4.048 0.047 -0.046
    older -0.9713 | first 0 -0.023 0.009 | first 0.1065 -0.024 -0.074
    quality 1.504 | pitch 5.412 -0.074 -0.000 | pitch 4.421 0.021 -0.006
    band_share -3.037 | first 0.2476 -0.027 -0.082 | other 1.429 -0.004 0.044
    attack 1.441 | quality 1.882 -0.057 0.005 | unsure -1.514 -0.069 0.028
    bright -1.191 | glide 0.0007756 -0.020 0.008 | pitch 5.021 0.000 -0.073
    rung 1.191 | low 0.9979 0.006 -0.065 | unsure -2.786 0.042 -0.002
    low 0.6325 | other 0.386 -0.071 0.000 | band_share -3.037 -0.057 0.004
    astray 0.0005415 | bright -5.807 -0.047 0.010 | bright -4.53 0.026 -0.022
    astray 0.01944 | attack -1.235 -0.046 0.004 | pitch 5.596 -0.075 -0.001
    pitch 6.211 | bright -1.191 0.003 -0.054 | pitch 6.211 -0.071 -0.071
    first 0.9861 | unsure -1.514 -0.002 0.056 | other -4.048 0.042 -0.046
    quality 1.504 | pitch 5.412 -0.070 -0.000 | glide 0.0007756 -0.020 0.007
    astray 0.01944 | older -1.094 0.003 -0.044 | band_share -0.4117 -0.071 -0.006
    decay -4.3 | pitch 5.375 0.017 -0.066 | attack 1.441 0.005 -0.049
    decay -1.237 | first 0.05598 -0.019 0.008 | other 2.234 -0.063 0.024
    series 5.784 | glide 0.0007756 -0.037 0.004 | longer -0.2578 0.057 0.011
    quality 2.118 | pitch 5.253 -0.051 0.032 | quality 2.516 0.037 -0.003
    low 0.6325 | longer 0.5072 -0.067 0.022 | band_share -3.037 -0.054 0.003
    unsure -2.786 | first 0.05598 -0.061 0.046 | astray 0.0005415 -0.016 0.007
    attack 0.2743 | first 0.4638 -0.020 0.022 | rung 7.203 -0.036 0.006
    pitch 4.114 | other -1.746 -0.006 0.083 | bright -3.265 0.000 -0.031
    astray 0.01944 | pitch 6.211 0.003 -0.068 | decay -2.452 -0.069 -0.005
    other 1.429 | first 0 -0.054 0.009 | first 0 0.189 -0.032
    attack -1.235 | bright -6 0.014 -0.064 | quality 1.504 -0.069 0.004
    rung 1.191 | low 0.9979 0.008 -0.063 | decay -3.129 -0.012 0.010
    rung 4.16 | first 0.9861 0.003 -0.070 | glide 0.0002346 -0.034 0.009
    bright -1.191 | bright -6 -0.011 0.010 | quality 2.729 -0.002 -0.065
    astray 0.01944 | attack -1.235 -0.042 0.003 | band_share -0.4117 -0.067 -0.006
    low 0.6325 | longer 0.5072 -0.064 0.019 | series 6.153 -0.003 0.035
    attack 0.9657 | decay -3.129 -0.017 0.015 | decay -2.903 0.019 -0.070
    pitch 6.183 | other 1.429 -0.003 0.026 | band_share -0.002148 -0.061 0.008
    older -1.466 | other -1.298 0.013 -0.011 | unsure -1.729 -0.060 -0.016
    pitch 6.211 | low 0.9241 -0.021 0.005 | pitch 6.211 -0.065 -0.065
    quality 1.504 | pitch 5.412 -0.065 0.001 | rung 6.874 -0.010 0.010
    astray 0.01944 | astray 0.0005415 -0.009 0.011 | pitch 5.596 -0.067 0.002
    band_share -3.037 | first 0.4006 -0.023 -0.076 | attack 0.2474 0.009 -0.011
    pitch 4.205 | decay -2.694 -0.017 0.040 | rung 6.874 -0.023 0.007
    other 1.429 | first 0 -0.052 0.009 | first 0 0.160 -0.031
    decay -4.3 | pitch 5.375 0.021 -0.064 | attack 1.441 0.005 -0.045
    first 0.971 | unsure -1.514 -0.002 0.057 | other -4.048 0.041 -0.039
    bright -1.191 | bright -6 -0.010 0.009 | pitch 5.021 0.004 -0.067
    unsure -1.322 | decay -4.191 -0.034 0.005 | first 0.677 0.029 -0.082
    low 0.6325 | unsure -1.797 -0.063 0.002 | series 6.153 -0.002 0.034
    rung 1.016 | low 0.9979 0.006 -0.061 | unsure -2.786 0.036 -0.002
    glide 0.0003781 | series 5.784 -0.043 0.053 | pitch 4.786 0.016 -0.007
    unsure -1.212 | older -1.466 0.004 -0.037 | first 0.7544 0.005 -0.073
    decay -1.237 | unsure -2.786 0.035 -0.002 | astray 0.004194 -0.061 0.019
    astray 0.01944 | glide 0.0007756 -0.017 0.006 | pitch 5.557 -0.065 0.001
    pitch 6.211 | attack 0.2743 0.008 -0.010 | pitch 6.211 -0.062 -0.062
    quality 1.504 | pitch 5.412 -0.063 0.003 | attack -1.235 -0.041 0.003
    other 1.429 | first 0 -0.050 0.008 | first 0.1065 0.126 -0.031
    band_share -3.037 | astray 3.331e-16 -0.022 -0.060 | other 1.429 -0.003 0.032
    bright -1.191 | glide 0.004989 0.004 -0.032 | quality 2.729 -0.000 -0.061
    unsure -1.212 | quality 5.802 0.003 -0.049 | first 0.7544 0.003 -0.071
    low 0.6325 | unsure -1.797 -0.061 0.000 | first 0.971 0.007 -0.014
    pitch 4.047 | other -1.746 -0.009 0.075 | other -1.298 0.010 -0.018
    pitch 6.183 | low 0.9788 -0.015 0.006 | unsure -2.983 0.008 -0.063
    astray 0.01944 | astray 0.0005415 -0.008 0.010 | longer -0.7888 -0.005 -0.061
    quality 1.504 | bright -5.957 -0.003 -0.059 | attack -1.235 -0.039 0.003
    low 0.6325 | decay -1.766 -0.052 0.014 | series 7.168 -0.002 0.036
    attack 1.441 | decay -3.129 -0.011 0.009 | unsure -1.514 -0.060 0.027
    rung 4.16 | pitch 4.421 0.023 -0.033 | series 5.175 -0.000 0.035
    glide 9.454e-05 | unsure -2.863 0.049 -0.075 | first 0.9861 0.007 -0.014
    bright -1.191 | bright -6 -0.011 0.009 | longer -0.612 0.003 -0.052
    decay -1.237 | other -3.842 0.018 -0.004 | astray 0.004194 -0.058 0.018
    astray 0.01944 | pitch 5.784 0.005 -0.017 | pitch 5.557 -0.061 0.002
    other 1.429 | first 0 -0.047 0.008 | first 0 0.115 -0.026
    unsure -1.322 | attack 0.9657 0.006 -0.031 | first 0.677 0.021 -0.076
    older -1.094 | first 0.05598 -0.016 0.007 | pitch 4.599 -0.017 -0.073
    pitch 6.211 | band_share -3.037 -0.042 0.002 | pitch 6.211 -0.058 -0.058
    rung 1.016 | longer -0.4077 0.009 -0.058 | low 0.7586 -0.034 0.004
    glide 0.004989 | bright -3.129 0.006 -0.020 | other -0.165 -0.067 0.043
    glide 0.0002346 | pitch 4.952 -0.072 0.010 | pitch 5.957 0.005 -0.030
    rung 6.874 | attack 0.5572 0.004 -0.052 | series 4.177 -0.001 0.034
    quality 1.504 | pitch 5.412 -0.059 0.005 | attack -1.235 -0.037 0.003
    rung 1.191 | older -4.044 0.015 -0.056 | unsure -2.786 0.031 -0.002
    other 1.429 | first 0 -0.043 0.006 | first 0.1065 0.100 -0.027
    pitch 4.205 | other 1.57 0.006 0.102 | rung 6.874 -0.020 0.007
    unsure -1.212 | older -1.466 0.004 -0.032 | attack 2.225 -0.051 0.029
    band_share -3.037 | first 0.4006 -0.020 -0.068 | bright -6 -0.010 0.008
    decay -3.357 | other 0.6899 -0.024 0.019 | quality 2.729 0.051 -0.002
    astray 0.01944 | pitch 6.211 0.002 -0.055 | pitch 5.557 -0.059 0.003
    low 0.6325 | longer 0.5072 -0.056 0.015 | band_share -3.037 -0.044 0.003
    glide 9.454e-05 | series 5.784 -0.047 0.031 | first 0.939 0.008 -0.012
    bright -1.191 | bright -6 -0.009 0.008 | quality 2.729 0.002 -0.057
    attack 1.441 | unsure -1.322 0.004 -0.041 | unsure -1.514 -0.055 0.023
    other -1.298 | low 0.9418 -0.054 0.020 | first 0.05598 0.090 -0.038
    astray 0.01944 | astray 0.0005415 -0.007 0.009 | quality 3.409 -0.056 -0.003
    pitch 6.183 | unsure -1.212 0.003 -0.035 | series 5.175 -0.052 0.007
    low 0.6325 | decay -2.184 -0.051 0.010 | series 7.168 -0.002 0.034
    rung 1.016 | low 0.9979 0.010 -0.055 | decay -2.262 -0.003 0.019
    attack 0.2743 | glide 0.002215 -0.003 0.033 | first 0.872 0.006 -0.032
    glide 0.004989 | pitch 5.784 0.006 -0.019 | other -0.165 -0.064 0.039
    first 0.5767 | other -0.2455 -0.064 0.054 | share -0.8804 -0.052 0.029
    other -3.842 | low 0.9788 -0.043 0.034 | bright -3.558 0.003 -0.036
    attack -0.6913 | bright -5.4 0.018 -0.051 | bright -5.807 -0.011 0.012
    decay -3.357 | pitch 4.619 -0.058 -0.000 | quality 2.729 0.046 -0.002
    attack 1.441 | unsure -1.322 0.004 -0.037 | decay -3.084 0.014 -0.060
    pitch 6.211 | bright -0.9388 0.002 -0.045 | pitch 6.211 -0.053 -0.053
    astray 0.01944 | glide 0.0007756 -0.015 0.004 | pitch 5.557 -0.055 0.003
    quality 5.937 | decay -2.22 -0.003 0.018 | unlike 0.8817 -0.057 0.020
    first 0.9861 | unlike 0.006138 0.037 -0.002 | other -4.048 0.033 -0.034
    glide 0.004989 | older -1.466 0.004 -0.028 | other -0.165 -0.060 0.036
    attack 1.441 | series 7.168 -0.001 0.036 | decay -3.084 0.013 -0.058
    attack -0.6913 | longer 0.1303 0.001 -0.074 | first 0.05598 -0.017 0.009
    quality 2.118 | pitch 5.253 -0.043 0.038 | decay -4.434 -0.063 0.004
    decay -1.237 | unsure -2.786 0.028 -0.001 | astray 0.004194 -0.053 0.018
    rung 6.874 | decay -2.694 -0.052 0.004 | longer -1.035 -0.036 0.010
    other 1.57 | first 0.1065 -0.033 0.006 | pitch 4.421 0.106 -0.005
    rung 1.191 | low 0.9979 0.014 -0.052 | low 0.7586 -0.029 0.003
    first 0.9861 | unlike 0.006138 0.036 -0.002 | rung 5.551 -0.054 0.009
    attack 0.2743 | first 0.4638 -0.015 0.017 | pitch 4.786 0.013 -0.023
    pitch 6.211 | unsure -2.16 0.009 -0.005 | pitch 6.211 -0.051 -0.051
    glide 0.0002346 | pitch 4.952 -0.068 0.011 | pitch 5.957 0.005 -0.026
    first 0.872 | other -0.06866 -0.016 0.034 | other -1.298 0.023 -0.059
    band_share -3.037 | first 0.4006 -0.018 -0.062 | glide 0.0004445 -0.018 0.004
    astray 0.01944 | older -1.094 0.002 -0.030 | pitch 5.557 -0.053 0.003
    quality 1.504 | pitch 5.412 -0.053 0.005 | attack -1.235 -0.033 0.002
    glide 0.004989 | pitch 5.784 0.005 -0.016 | pitch 5.516 -0.055 0.029
    first 0.9861 | unsure -1.514 -0.003 0.040 | rung 5.551 -0.051 0.008
    quality 2.118 | first 0.8486 0.027 -0.047 | decay -4.434 -0.060 0.004
    attack 1.441 | decay -3.182 -0.011 0.008 | decay -3.084 0.012 -0.056
    band_share -2.254 | longer -0.00555 -0.062 -0.010 | astray 0.0005415 -0.008 0.012
    low 0.6325 | longer 0.5072 -0.050 0.014 | series 7.168 -0.001 0.030
    bright -1.191 | quality 1.504 -0.045 0.002 | pitch 5.021 0.010 -0.058
    quality 5.937 | quality 4.895 -0.002 0.026 | unlike 0.8817 -0.054 0.020
    astray 0.01944 | first 0.5767 -0.008 0.006 | quality 3.409 -0.051 -0.002
    other 1.57 | first 0.1065 -0.031 0.006 | first 0.1065 0.078 -0.022
    unsure -1.212 | unsure -1.514 -0.002 0.024 | attack 2.225 -0.044 0.024
    attack 1.441 | unsure -1.322 0.003 -0.034 | glide 0.004048 -0.041 0.040
    other -1.298 | first 0.05598 -0.094 0.038 | first 0.05598 0.074 -0.034
    pitch 6.183 | rung 4.16 -0.012 0.005 | series 5.175 -0.048 0.007
    first 0.939 | unsure -1.514 -0.003 0.044 | band_share -0.206 -0.041 0.021
    older -1.466 | other -2.587 0.015 -0.005 | first 0.1666 -0.012 -0.057
"""


def _parsed() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Numbers of the quantities asked for, shape (trees, 3); limits, shape (trees, 3); answers, shape (trees, 4)."""
    asked, limits, answers = [], [], []
    for line in TABLE.strip().splitlines():
        first, left, right = (part.split() for part in line.split("|"))
        asked.append([FEATURES.index(part[0]) for part in (first, left, right)])
        limits.append([float(part[1]) for part in (first, left, right)])
        answers.append([float(value) for part in (left, right) for value in part[2:]])
    return np.array(asked), np.array(limits), np.array(answers)


ASKED, LIMITS, ANSWERS = _parsed()
TREES = np.arange(len(ASKED))


def grown_log_odds(evidence: Mapping[str, float]) -> float:
    """Sum of what the trees add [-].

    Parameters
    ----------
    evidence
        The quantities by name; every one of ``FEATURES`` must be there.

    Returns
    -------
    float
        Log-odds that an event is a pluck.
    """
    value = np.array([evidence[name] for name in FEATURES])
    above = (value[ASKED] > LIMITS).astype(np.int64)
    side = above[:, 0]
    answer = ANSWERS[TREES, 2 * side + above[TREES, 1 + side]]
    return float(CONSTANT + answer.sum())
