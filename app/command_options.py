"""Options that several commands have in common."""

import click

replace_option = click.option("--replace", is_flag=True, help="Write over files that exist.")

limit_option = click.option(
    "--limit-mp",
    type=click.FloatRange(1, 2000),
    metavar="NUMBER",
    help="Largest photo to open, in megapixels; 256 unless said otherwise.",
)
