"""Words as data: the sentences that reports make, and what customers' files call things, one file a language."""

from capcheck.lexicon.wording import sentence as sentence, sentence_of_decision as sentence_of_decision
