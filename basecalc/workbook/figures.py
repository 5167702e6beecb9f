"""Numbers and words as the season's sheets show them."""

from basecalc.core.words import capital as capital
from basecalc.core.words import number as number
from basecalc.core.words import shown_unit as shown_unit
from basecalc.core.words import unit as unit
