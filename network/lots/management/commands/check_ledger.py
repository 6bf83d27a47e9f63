from typing import Any

from django.core.management.base import BaseCommand, CommandError

from network.lots.queries.balances import ledger_faults


class Command(BaseCommand):
    help = "Works every balance of the mass ledger out anew, and names those that differ."

    def handle(self, *args: Any, **options: Any) -> None:
        faults = ledger_faults()
        for fault in faults:
            self.stderr.write(
                f"Account {fault.account_id}: kept {fault.kept_g} g, its lines say"
                f" {fault.lines_g} g."
            )
        if faults:
            raise CommandError(f"{len(faults)} balances are not what the lines say.")
        self.stdout.write("Every balance is the sum of its lines.")
