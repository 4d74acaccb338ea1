"""A pocket calculator: finds the sums that sentences print, and works them out anew."""

import math
import re

UNITS = re.compile(r" (m²|kg/m³|L/m²|kg)(?= [×÷+−=)]|$)")
SUM = re.compile(r"((?:e\^|[0-9.×÷+−√()² ])+) = (−?[0-9]+(?:\.[0-9]+)?)")
NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
#: Whole numbers that are counts or steps of units, and hold exactly.
EXACT_BELOW, STEPS = 10, {"100", "1000"}


def sums_in(sentence):
    """Give the sums of a sentence: each an expression and the printed result."""
    found = []
    for expression, printed in SUM.findall(UNITS.sub("", sentence)):
        expression = expression.strip()
        if re.search(r"[×÷+−√]", expression):
            found.append((balanced(expression), printed.replace("−", "-")))
    return found


def balanced(expression):
    """Cut off what stands before the sum, such as a bracket that was opened earlier."""
    while expression.count("(") != expression.count(")"):
        expression = expression[1:]
    return expression.strip().lstrip("×÷+ ")


def value(expression):
    code = expression.replace("×", "*").replace("÷", "/").replace("−", "-").replace("²", "**2")
    code = re.sub(r"√\(", "sqrt(", code)
    code = re.sub(r"e\^\(", "exp(", code)
    return eval(code, {"__builtins__": {}}, {"sqrt": math.sqrt, "exp": math.exp})


def half_a_digit(number):
    if "." not in number and (int(number) < EXACT_BELOW or number in STEPS):
        return 0.0
    return 0.5 * 10.0 ** -len(number.partition(".")[2])


def off_by(expression, printed):
    """Give by how much a sum misses what is printed, beyond what its rounded figures explain."""
    plain = value(expression)
    slack = half_a_digit(printed.lstrip("-")) or 0.5 * 10.0 ** -len(printed.partition(".")[2])
    for number in NUMBER.finditer(expression):
        step = half_a_digit(number.group())
        if step:
            moved = expression[:number.start()] + repr(float(number.group()) + step) + (
                expression[number.end():])
            slack += abs(value(moved) - plain)
    return abs(plain - float(printed)) - 1.05 * slack
