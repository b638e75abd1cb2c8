"""Samples that know their rate and level: render, re-voice, align, describe, read and write."""

from polepiece.sound.chain import (
    SETTINGS,
    Chain,
    ChainSetting,
    Loudspeaker,
    chain_setting,
    chained,
    loudspeaker_name,
    through_chain,
)
from polepiece.sound.descriptors import (
    ATTACK_S,
    BENCH_BANDS,
    RESPONSE_BANDS,
    SUSTAIN_S,
    attack_to_sustain_db,
    band_power,
    banded,
    bench_bands_db,
    power_spectrum,
    spectral_centroid,
    strongest_stroke,
    third_octave_edges,
    third_octave_levels_db,
    third_octaves,
)
from polepiece.sound.lines import Lines, stroke_lines
from polepiece.sound.levels import Levels, level_states
from polepiece.sound.lines import Lines, stroke_lines
from polepiece.sound.loudness import (
    AUDITION_LUFS,
    Alignment,
    align,
    integrated_loudness,
    k_weighting_power,
    loudness_as_given,
    peak_dbfs,
)
from polepiece.sound.loudness_meter import LoudnessMeter
from polepiece.sound.loudspeaker import ImpulseResponse, closed_box
from polepiece.sound.modebank import ModeBank, ModeSum, mode_sums
from polepiece.sound.performance import performed
from polepiece.sound.phrase import Bend, Note, Phrase
from polepiece.sound.psychoacoustics import (
    REFERENCE_PRESSURE,
    NotInstalledError,
    Perceived,
    loudness_and_sharpness,
)
from polepiece.sound.render import MagnetPull, induced, render, stream
from polepiece.sound.repertoire import PHRASES, phrase
from polepiece.sound.revoice import RatioFilter, apply_filter, minimum_phase, ratio_filter, revoice
from polepiece.sound.routing import Responses, StringResponses
from polepiece.sound.streams import Convolver, Sections
from polepiece.sound.transfer import PickupResponse, flat_response
from polepiece.sound.voice import NoteVoice, StringBank, mode_motion
from polepiece.sound.wav import (
    Header,
    Recording,
    bears_our_name,
    blocks,
    decode,
    header,
    impulse_response_of,
    read,
    read_impulse_response,
    to_bytes,
    to_data_uri,
    write,
    writing,
)

__all__ = [
    "ATTACK_S",
    "AUDITION_LUFS",
    "BENCH_BANDS",
    "PHRASES",
    "REFERENCE_PRESSURE",
    "RESPONSE_BANDS",
    "SETTINGS",
    "SUSTAIN_S",
    "Alignment",
    "Bend",
    "Chain",
    "ChainSetting",
    "Convolver",
    "Header",
    "ImpulseResponse",
    "Levels",
    "Lines",
    "LoudnessMeter",
    "Loudspeaker",
    "MagnetPull",
    "ModeBank",
    "ModeSum",
    "NotInstalledError",
    "Note",
    "NoteVoice",
    "Perceived",
    "Phrase",
    "PickupResponse",
    "RatioFilter",
    "Recording",
    "Responses",
    "Sections",
    "StringBank",
    "StringResponses",
    "align",
    "apply_filter",
    "attack_to_sustain_db",
    "band_power",
    "banded",
    "bears_our_name",
    "bench_bands_db",
    "blocks",
    "chain_setting",
    "chained",
    "closed_box",
    "decode",
    "flat_response",
    "header",
    "impulse_response_of",
    "induced",
    "integrated_loudness",
    "level_states",
    "loudness_and_sharpness",
    "loudness_as_given",
    "loudspeaker_name",
    "minimum_phase",
    "mode_sums",
    "peak_dbfs",
    "performed",
    "phrase",
    "power_spectrum",
    "ratio_filter",
    "read",
    "read_impulse_response",
    "render",
    "revoice",
    "spectral_centroid",
    "stream",
    "stroke_lines",
    "strongest_stroke",
    "third_octave_edges",
    "third_octave_levels_db",
    "third_octaves",
    "through_chain",
    "to_bytes",
    "to_data_uri",
    "write",
    "writing",
]
