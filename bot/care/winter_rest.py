"""The winter rest as other engines see it: its plan, its steps as dated duties, and how often to look at the colony.

`rest_start` knows the dates, `rest_terms` the temperatures and lengths, `rest_course` lays both out, `rest_warnings`
says what is wrong, `rest_plan` explains it all, `rest_duties` makes duties of it.
"""

from bot.care.rest_duties import RestStep, advise_rest_check, rest_steps
from bot.care.rest_plan import plan_rest

__all__ = ["RestStep", "advise_rest_check", "plan_rest", "rest_steps"]
