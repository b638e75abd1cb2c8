"""Samples that know their rate and level: render, re-voice, align, describe, read and write."""

from polepiece.sound.chain import (
    SETTINGS,
    Chain,
    ChainSetting,
    InRoom,
    Loudspeaker,
    chain_setting,
    chained,
    loudspeaker_name,
    through_chain,
)
from polepiece.sound.condition import Condition, condition_of, condition_of_blocks, settled, without_offset
from polepiece.sound.descriptors import (
    ATTACK_S,
    RESPONSE_BANDS,
    SUSTAIN_S,
    attack_to_sustain_db,
    band_power,
    band_words,
    banded,
    bands_in_a_row,
    power_spectrum,
    spectral_centroid,
    strongest_stroke,
    third_octave_edges,
    third_octaves,
)
from polepiece.sound.levels import Levels, level_states
from polepiece.sound.loudness import (
    Alignment,
    align,
    k_weighting_power,
    loudness_as_given,
    peak_dbfs,
)
from polepiece.sound.loudness_meter import LoudnessMeter
from polepiece.sound.phrase import Bend, Note, Phrase
from polepiece.sound.phrase_energy import PhraseEnergy, phrase_energy
from polepiece.sound.phrase_file import phrase_called
from polepiece.sound.phrase_lines import phrase_lines
from polepiece.sound.presented import equal_loudness_gains, presented, trial_gains
from polepiece.sound.psychoacoustics import (
    REFERENCE_PRESSURE,
    NotInstalledError,
    Perceived,
    loudness_and_sharpness,
)
from polepiece.sound.realism import BARE, LIVELY, Realism
from polepiece.sound.recording_spectrum import THIRDS
from polepiece.sound.render import MagnetPull, stream
from polepiece.sound.repertoire import PHRASES, fitted, phrase
from polepiece.sound.revoice import RatioFilter, ratio_filter, revoice
from polepiece.sound.routing import StringResponses
from polepiece.sound.streams import Convolver
from polepiece.sound.transfer import PickupResponse
from polepiece.sound.voice import Motion
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
)
from polepiece.sound.written_wav import to_bytes, write, writing
