"""The names of languages and kinds, alone in a file that costs the command line nothing."""

LANGUAGES = ("en", "fr", "es", "pt", "sw")
# Registers come before what refers to them.
ORDER = (
    "members",
    "plots",
    "prices",
    "receipt_books",
    "opening_balances",
    "season_so_far",
    "past_crops",
    "lots",
    "weighings",
    "deliveries",
    "store_checks",
    "farm_record",
    "training",
    "visits",
    "credit",
    "payments",
    "money_entries",
    "second_payments",
    "bank_lines",
    "sales",
    "questions",
)
