package main

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// nginx starts Debian's nginx on the file that the README gives to owners, with the addresses of
// this test in it, and returns where it listens.
func nginx(t *testing.T, folder, server string) string {
	t.Helper()
	program, err := exec.LookPath("nginx")
	if err != nil {
		program = "/usr/sbin/nginx" // not everybody's path has it
	}
	if _, err := os.Stat(program); err != nil {
		t.Skip("nginx is not installed; scripts/test -long installs it")
	}
	text, address := readProxy(t, "nginx.conf"), freeAddress(t).String()
	site := strings.NewReplacer("listen 443 ssl", "listen "+address+" ssl",
		"http://127.0.0.1:8420", server, "/etc/ssl/practice.example", folder).Replace(text)
	whole := fmt.Sprintf("daemon off;\npid %[1]s/pid;\nerror_log %[1]s/error.log;\n"+
		"events {}\nhttp {\naccess_log off;\nclient_body_temp_path %[1]s/body;\n"+
		"proxy_temp_path %[1]s/proxy;\nfastcgi_temp_path %[1]s/f;\nuwsgi_temp_path %[1]s/u;\n"+
		"scgi_temp_path %[1]s/s;\n%[2]s}\n", folder, site)
	if os.Getuid() == 0 {
		whole = "user root;\n" + whole // its workers must read this test's folder
	}
	at := filepath.Join(folder, "whole.conf")
	if err := os.WriteFile(at, []byte(whole), 0o600); err != nil {
		t.Fatal(err)
	}
	listens(t, exec.Command(program, "-c", at, "-p", folder), address)
	return address
}

// caddy is as nginx, with Debian's caddy. Its certificate is the one of this test, since no public
// authority knows the name.
func caddy(t *testing.T, folder, server string) string {
	t.Helper()
	program, err := exec.LookPath("caddy")
	if err != nil {
		t.Skip("caddy is not installed; scripts/test -long installs it")
	}
	address := freeAddress(t)
	opening := fmt.Sprintf("practice.example:%d {\n\tbind 127.0.0.1\n\ttls %[2]s/chain.pem"+
		" %[2]s/key.pem", address.Port, folder)
	site := strings.NewReplacer("practice.example {", opening, "127.0.0.1:8420",
		strings.TrimPrefix(server, "http://")).Replace(readProxy(t, "Caddyfile"))
	whole := "{\n\tadmin off\n\tauto_https disable_redirects\n}\n" + site
	at := filepath.Join(folder, "whole.caddy")
	if err := os.WriteFile(at, []byte(whole), 0o600); err != nil {
		t.Fatal(err)
	}
	running := exec.Command(program, "run", "--adapter", "caddyfile", "--config", at)
	running.Env = append(os.Environ(), "XDG_DATA_HOME="+folder, "XDG_CONFIG_HOME="+folder)
	listens(t, running, address.String())
	return address.String()
}

// readProxy returns a file that the README gives to owners.
func readProxy(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("proxy", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// listens starts a program that runs until the end of the test, and waits until it listens.
func listens(t *testing.T, running *exec.Cmd, address string) {
	t.Helper()
	var said output
	running.Stderr = &said
	if err := running.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = running.Process.Signal(os.Interrupt)
		_ = running.Wait() // it was told to end
	})
	for range 600 {
		if conn, err := net.Dial("tcp", address); err == nil {
			_ = conn.Close()
			return
		}
		time.Sleep(25 * time.Millisecond)
	}
	t.Fatalf("%s does not listen:\n%s", running.Path, said.String())
}
