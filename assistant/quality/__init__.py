"""How good the knowledge base is: the rules' own tests, and whether those tests are sharp."""

from assistant.quality.mutation import MutationReport, mutate_rules
from assistant.quality.rule_tests import rule_test_failures, run_rule_tests

__all__ = ["MutationReport", "mutate_rules", "rule_test_failures", "run_rule_tests"]
