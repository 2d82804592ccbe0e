"""A form that makes a database and gives whoever leads it a PIN."""

from __future__ import annotations

from panel.desk.deed_form import DeedForm
from panel.desk.new_pin_slip import NewPinSlip
from panel.errors import EntriesAtFault


class FirstPinForm(DeedForm):
    """A form with a field `lead`: its PIN is asked for once all else is there."""

    pin: str | None = None

    def action_keep(self) -> None:
        """Look, then ask for the lead's PIN; Escape there leaves it for later."""
        try:
            self.look(self.values())
        except EntriesAtFault as error:
            self.post_message(self.Refused(error.faults))
            return

        def typed(pin: str | None) -> None:
            if pin:
                self.pin = pin
                self._check()

        self.app.push_screen(NewPinSlip(self.values()["lead"]), typed)
