package demo

import (
	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
)

// colleagues are who works in the practice beside its owner: they have phones and wrote nothing.
var colleagues = []sessions.Author{
	{Name: "Cora V.", Role: sessions.Coach}, {Name: "Bo R.", Role: sessions.Assistant},
}

// hire lets the colleagues in, invited by host.
func (s *story) hire(desk *access.Desk, host store.Member) error {
	for _, p := range s.colleagues {
		code, _, err := desk.Invite(host, access.Guest{Role: p.who.Role, Name: p.who.Name})
		if err != nil {
			return err
		}
		if _, err := letIn(desk, code, p); err != nil {
			return err
		}
	}
	return nil
}
