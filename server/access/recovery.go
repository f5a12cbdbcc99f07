package access

import (
	"errors"

	"evenhold/server/store"
)

// RecoveryCodes is how many there are at a time: some are lost, and each is good once.
const RecoveryCodes = 10

// Recovery makes the owner's recovery codes, in place of all earlier ones. They are told here and
// never again. Each lets the owner in on one phone, as an invitation does, and has no end. It
// returns store.ErrNotFound before there is an owner.
func (d *Desk) Recovery() ([]Code, error) {
	var err error
	for range 20 { // one of ten handles is in use once in a while
		codes := make([]Code, RecoveryCodes)
		kept := make([]store.RecoveryCode, RecoveryCodes)
		for i := range codes {
			codes[i] = NewRecoveryCode()
			kept[i] = store.RecoveryCode{Handle: codes[i].handle, SecretMAC: d.key.mac(codes[i])}
		}
		err = d.store.SetRecovery(kept, d.now().UnixMilli())
		if !errors.Is(err, store.ErrTaken) {
			return codes, err
		}
	}
	return nil, err
}
