package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"strings"

	"rsc.io/qr"

	"evenhold/server/access"
	"evenhold/server/api"
)

// offerSetUp makes the one-use link that a new practice is claimed with, prints
// it and leaves it in the data folder. With an owner there is none.
func offerSetUp(
	ctx context.Context, desk *access.Desk, origins api.Origins, f *folder, out io.Writer,
) error {
	if err := removeSetUp(f); err != nil {
		return err
	}
	code, isNew, err := desk.SetUp(ctx)
	if err != nil || !isNew {
		return err
	}
	link := origins.JoinLink(code)
	if err := os.WriteFile(f.file(linkName), []byte(link+"\n"), 0o600); err != nil {
		return fmt.Errorf("set-up link: %w", err)
	}
	picture, err := terminalQR(link)
	if err != nil {
		return fmt.Errorf("set-up link: %w", err)
	}
	fmt.Fprintf(out, "\nThis practice has no owner yet. Open this link on the owner's phone or"+
		" computer:\n\n  %s\n\n%s\nIt works once, within 24 hours; a restart makes a new one."+
		" It is also in %s.\n\n", link, picture, f.file(linkName))
	return nil
}

func removeSetUp(f *folder) error {
	if err := os.Remove(f.file(linkName)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("set-up link: %w", err)
	}
	return nil
}

// forgetSetUp removes the link that an owner has just used.
func forgetSetUp(f *folder, log *slog.Logger) {
	if err := removeSetUp(f); err != nil {
		log.Error("the set-up link is used but its file is still there", "error", err.Error())
	}
}

// terminalQR draws text as a QR code of half-height blocks, two modules to a
// character, light on dark with the four light modules around it that scanners
// need (QR code symbology, ISO/IEC 18004, from memory).
func terminalQR(text string) (string, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", err
	}
	const quiet = 4
	blocks := map[[2]bool]string{
		{false, false}: "█", {false, true}: "▀", {true, false}: "▄", {true, true}: " ",
	}
	var b strings.Builder
	for y := -quiet; y < code.Size+quiet; y += 2 {
		for x := -quiet; x < code.Size+quiet; x++ {
			b.WriteString(blocks[[2]bool{code.Black(x, y), code.Black(x, y+1)}])
		}
		b.WriteByte('\n')
	}
	return b.String(), nil
}
